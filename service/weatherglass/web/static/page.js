/* The page: what is opened, what is shown, and the way back. The record stays in this tab's memory. */
"use strict";

(() => {
  const one = (selector, within = document) => within.querySelector(selector);
  const all = (selector, within = document) => within.querySelectorAll(selector);
  const place = one("[data-view]");
  const opening = one("[data-opening]");
  const again = one("[data-open-again]");
  const bar = one("[data-progress]");
  let record = null;
  let records = 0;
  // What stands on the page: which record, and which patient of it (null: all of it).
  let shown = null;
  let ward = null;
  // Which moment was asked for: "" (the program decides), "now" or "newest".
  let moment = "";
  // The patients of the ward in the order of the list, as it was left.
  let order = [];
  let running = null;

  const size = (bytes) => (bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`);

  function progress(words, share) {
    bar.hidden = false;
    one("[data-progress-words]").textContent = words;
    const meter = one("[data-progress-bar]");
    if (share === null) meter.removeAttribute("value");
    else meter.value = share;
  }

  /** Run one exchange at a time; whatever was running is given up. */
  async function exchange(words, work) {
    if (running) running.abort();
    const mine = new AbortController();
    running = mine;
    const began = performance.now();
    progress(words, null);
    const timer = setInterval(() => {
      if (one("[data-progress-bar]").hasAttribute("value")) return;
      progress(`${words} ${Math.round((performance.now() - began) / 1000)} s`, null);
    }, 1000);
    try {
      return await work(mine.signal);
    } catch (error) {
      if (error.name !== "AbortError") fail(error.message);
      return null;
    } finally {
      clearInterval(timer);
      if (running === mine) {
        running = null;
        bar.hidden = true;
      }
    }
  }

  function upload(blob, patient) {
    const asked = new URLSearchParams();
    if (patient !== null) asked.set("patient", patient);
    if (moment) asked.set("asOf", moment);
    const address = asked.size ? `/view?${asked}` : "/view";
    return exchange("Reviewing the record.", (signal) => Weatherglass.opening.send(address, blob, "application/fhir+json", {
      signal,
      onProgress: (sent, total) => {
        if (sent < total) progress(`Sending ${size(sent)} of ${size(total)}.`, (100 * sent) / total);
        else progress(`Reviewing ${size(total)}.`, null);
      },
    }));
  }

  /** The page for a record or for one patient of it; null when there is none, and the page says why. */
  async function reviewed(blob, patient) {
    const answer = await upload(blob, patient);
    if (!answer) return null;
    if (answer.type.startsWith("text/html")) return answer.text;
    fail(refusal(answer));
    return null;
  }

  /** A new record is an entry of its own in the history: Back leads to where one came from. */
  async function review(blob, isAddressed = false, signed = null) {
    Weatherglass.launch.hold(signed);
    moment = signed ? "now" : "";
    order = [];
    const html = await reviewed(blob, null);
    if (html === null) return false;
    record = blob;
    records += 1;
    ward = null;
    arrive({ record: records, patient: null }, html, isAddressed);
    return true;
  }

  /** What the address itself asked for is no further entry, and its address stays. */
  function arrive(state, html, isAddressed = false) {
    if (isAddressed) history.replaceState(state, "");
    else history.pushState(state, "", location.pathname);
    shown = state;
    show(html);
  }

  /** One patient of the ward; the ward is kept as it stands, with its filter and its place. */
  async function choosePatient(patient) {
    const left = one("[data-ward]", place) && { nodes: [...place.childNodes], top: scrollY };
    if (left) order = [...all("[data-row]:not([hidden]) [data-patient]", place)].map((button) => Number(button.dataset.patient));
    const html = await reviewed(record, patient);
    if (html === null) return;
    if (left) ward = left;
    arrive({ record: records, patient }, html);
  }

  /** The neighbours of a patient in the order of the list one came from. */
  function wireNeighbours(within) {
    const at = shown === null ? -1 : order.indexOf(shown.patient);
    for (const button of all("[data-neighbour]", within)) {
      const other = at < 0 ? undefined : order[at + Number(button.dataset.neighbour)];
      button.hidden = other === undefined;
      if (other !== undefined) button.addEventListener("click", () => choosePatient(other));
    }
  }

  /** The same record at another moment; a ward that was left behind would be of the old one. */
  async function chooseMoment(choice) {
    moment = choice;
    const html = await reviewed(record, shown.patient);
    if (html === null) return;
    ward = null;
    show(html);
  }

  function backToWard() {
    const state = { record: records, patient: null };
    history.pushState(state, "", location.pathname);
    turnTo(state);
  }

  /** Show what an entry of the history stands for. */
  async function turnTo(state) {
    if (!state && location.hash && shown) {
      // A link inside the page: its entry stands for what is on the page.
      history.replaceState(shown, "");
    } else if (!state || !record || state.record !== records) {
      rest();
    } else if (shown === null || state.patient !== shown.patient) {
      if (state.patient === null && ward) {
        shown = state;
        stand(ward.nodes, ward.top);
        return;
      }
      const html = await reviewed(record, state.patient);
      if (html === null) return;
      shown = state;
      show(html);
      const part = location.hash && document.getElementById(location.hash.slice(1));
      if (part) part.scrollIntoView({ behavior: "instant" });
    }
  }

  /** What the program says when it will not even look: too large, too busy, out of order. */
  function refusal(answer) {
    try {
      return JSON.parse(answer.text).detail || `The program answered ${answer.status}.`;
    } catch {
      return `The program answered ${answer.status}.`;
    }
  }

  /** Put in what the server has drawn; it has escaped every word of the record. */
  function show(html) {
    const made = document.createElement("template");
    made.innerHTML = html;
    wire(made.content);
    stand([made.content], 0);
  }

  function stand(nodes, top) {
    place.replaceChildren(...nodes);
    opening.hidden = true;
    again.hidden = false;
    document.documentElement.dataset.reading = "";
    Weatherglass.article.enliven(place);
    scrollTo({ top, behavior: "instant" });
    told();
  }

  /** The window says what is on the page, and so does a screen reader. */
  function told() {
    const title = one("[data-title]", place);
    document.title = title ? `${title.textContent} – Weatherglass` : "Weatherglass";
    if (title) title.focus({ preventScroll: true });
    document.documentElement.dataset.shown = String(Number(document.documentElement.dataset.shown || 0) + 1);
  }

  function fail(words) {
    const section = document.createElement("section");
    section.className = "failure";
    const title = document.createElement("h1");
    title.tabIndex = -1;
    title.dataset.title = "";
    title.textContent = "This could not be reviewed";
    const lede = document.createElement("p");
    lede.textContent = words;
    section.append(title, lede);
    shown = null;
    stand([section], 0);
  }

  /** The opening page, as somebody asks for it: the record is let go. */
  function home() {
    record = null;
    Weatherglass.launch.hold(null);
    ward = null;
    history.pushState(null, "", location.pathname);
    rest();
  }

  /** The opening page; Forward leads to the record again. */
  function rest() {
    if (running) running.abort();
    shown = null;
    place.replaceChildren();
    Weatherglass.article.enliven(place);
    opening.hidden = false;
    again.hidden = true;
    delete document.documentElement.dataset.reading;
    one("[data-file]").value = "";
    document.title = "Weatherglass";
    one("#main").focus();
  }

  function wire(within) {
    for (const button of all("[data-patient]", within)) {
      button.addEventListener("click", () => choosePatient(Number(button.dataset.patient)));
    }
    for (const button of all("[data-moment-choice]", within)) {
      button.addEventListener("click", () => chooseMoment(button.dataset.momentChoice));
    }
    wireNeighbours(within);
    for (const button of all("[data-back]", within)) button.addEventListener("click", backToWard);
    for (const button of all("[data-open-again]", within)) button.addEventListener("click", home);
    const filter = one("[data-ward-filter]", within);
    if (filter) {
      filter.hidden = false;
      for (const field of all("select, input", filter)) field.addEventListener("input", lookOverWard);
    }
    for (const section of all("[data-fhir]", within)) one("[data-fhir-show]", section).addEventListener("click", () => fetchAnswer(section));
  }

  const ORDERS = {
    urgency: (row) => row.dataset.place,
    due: (row) => (row.dataset.due ? new Date(row.dataset.due).toISOString() : "z"),
    bed: (row) => row.dataset.bed || "\uffff",
    name: (row) => row.dataset.name,
  };
  const asCounted = new Intl.Collator(undefined, { numeric: true });

  /** The list as it is asked for: one ward, some words, an order; the counts at the head are of what is shown. */
  function lookOverWard() {
    const rows = [...all("[data-row]", place)];
    rows.forEach((row, index) => (row.dataset.place ||= String(index)));
    const said = (selector) => (one(selector, place) ? one(selector, place).value : "");
    const name = said("[data-ward-choice]");
    const words = said("[data-ward-search]").toLowerCase().split(/\s+/).filter(Boolean);
    const isSought = (row) => words.every((word) => row.dataset.words.toLowerCase().includes(word));
    for (const row of rows) row.hidden = (name !== "" && row.dataset.wardName !== name) || !isSought(row);
    const key = ORDERS[said("[data-ward-order]")];
    one("[data-ward-rows]", place).append(...rows.sort((a, b) => asCounted.compare(key(a), key(b))));
    countWard(rows.filter((row) => !row.hidden), rows.length, name, said("[data-ward-order]"));
  }

  function countWard(shown, every, name, order) {
    const by = order === "urgency" ? "most urgent first" : `by ${one(`[data-ward-order] [value=${order}]`, place).textContent.toLowerCase()}`;
    const title = shown.length === every ? `${every} patients` : `${shown.length} of ${every} patients${name && `, ${name}`}`;
    one("[data-title]", place).textContent = `${title}, ${by}`;
    const paper = one(".ward-title th", place);
    paper.dataset.every ||= paper.textContent;
    paper.textContent = shown.length === every ? paper.dataset.every : `${paper.dataset.every}. Shown: ${title}`;
    one("[data-ward-shown]", place).textContent = shown.length === every ? `${every} shown` : `${shown.length} of ${every} shown`;
    for (const item of all("[data-count-of]", place)) {
      one("b", item).textContent = String(shown.filter((row) => row.dataset.urgency === item.dataset.countOf).length);
    }
  }

  /** The operation at the moment that the page shows. */
  function operation() {
    // A file that names its moment is sent as it is, and the operation keeps to it.
    if (one("[data-own-moment]", place)) return "/fhir/$review-deterioration";
    const isNow = one("[data-moment-choice='now'][aria-pressed='true']", place);
    const at = isNow && one("[data-moment]", place).dataset.moment;
    return at ? `/fhir/$review-deterioration?asOf=${encodeURIComponent(at)}` : "/fhir/$review-deterioration";
  }

  /** The raw answer comes from the operation itself, not from the page. */
  async function fetchAnswer(section) {
    const note = one("[data-fhir-note]", section);
    const answer = await exchange("Fetching the answer.", (signal) => Weatherglass.opening.send(operation(), record, section.dataset.contentType, { signal, onProgress: () => {} }));
    if (!answer) return;
    const shown = Weatherglass.layOut(answer.text, 400000);
    const text = one("[data-fhir-text]", section);
    text.textContent = shown.text;
    text.hidden = false;
    const isOther = section.matches("[data-own-moment]") && one("[data-moment-choice][aria-pressed='true']", place);
    const whose = isOther ? " Of the moment that the file itself names, not of the one chosen above." : "";
    note.textContent = `Status ${answer.status}, ${size(answer.text.length)}${shown.cut ? "; the beginning is shown, save it to read the rest" : ""}.${whose}`;
    const save = one("[data-fhir-save]", section);
    save.href = URL.createObjectURL(new Blob([answer.text], { type: "application/fhir+json" }));
    save.hidden = false;
  }

  one("[data-file]").addEventListener("change", (event) => {
    if (event.target.files.length) review(event.target.files[0]);
  });
  one("[data-paste-form]").addEventListener("submit", (event) => {
    event.preventDefault();
    review(new Blob([one("#pasted").value]));
  });
  for (const button of all("[data-demo]")) button.addEventListener("click", () => openDemo(button.dataset.demo));
  async function openDemo(name, isAddressed = false) {
    const blob = await exchange("Fetching an invented patient.", (signal) => Weatherglass.opening.demo(name, signal));
    if (blob) await review(blob, isAddressed);
  }
  again.addEventListener("click", home);
  one("[data-cancel]").addEventListener("click", () => running && running.abort());
  addEventListener("popstate", (event) => turnTo(event.state));

  addEventListener("dragover", (event) => {
    event.preventDefault();
    document.body.classList.add("is-over");
  });
  addEventListener("dragleave", () => document.body.classList.remove("is-over"));
  addEventListener("drop", (event) => {
    event.preventDefault();
    document.body.classList.remove("is-over");
    if (event.dataTransfer.files.length) review(event.dataTransfer.files[0]);
  });

  const theme = one("[data-theme-switch]");
  const dark = () => (document.documentElement.dataset.theme || (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light")) === "dark";
  theme.setAttribute("aria-pressed", String(dark()));
  theme.addEventListener("click", () => {
    document.documentElement.dataset.theme = dark() ? "light" : "dark";
    theme.setAttribute("aria-pressed", String(dark()));
    Weatherglass.article.redraw();
  });

  const wanted = new URLSearchParams(location.search).get("demo");
  if (wanted) openDemo(wanted, true);
  Weatherglass.launch.start({ exchange, progress, review, fail });
})();
