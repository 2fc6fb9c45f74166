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
    const address = patient === null ? "/view" : `/view?patient=${patient}`;
    return exchange("Reviewing the record.", (signal) => Weatherglass.opening.send(address, blob, "application/fhir+json", {
      signal,
      onProgress: (sent, total) => {
        if (sent < total) progress(`Sending ${size(sent)} of ${size(total)}.`, (100 * sent) / total);
        else progress(`Reviewing ${size(total)}.`, null);
      },
    }));
  }

  async function review(blob, patient = null) {
    const answer = await upload(blob, patient);
    if (!answer) return;
    if (!answer.type.startsWith("text/html")) {
      fail(refusal(answer));
      return;
    }
    record = blob;
    show(answer.text);
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
    place.replaceChildren(made.content);
    opening.hidden = true;
    again.hidden = false;
    Weatherglass.article.enliven(place);
    wire();
    const title = one("[data-title]", place);
    document.title = title ? `${title.textContent} – Weatherglass` : "Weatherglass";
    scrollTo(0, 0);
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
    place.replaceChildren(section);
    again.hidden = false;
    title.focus();
    document.documentElement.dataset.shown = String(Number(document.documentElement.dataset.shown || 0) + 1);
  }

  function home() {
    if (running) running.abort();
    record = null;
    Weatherglass.article.enliven(document.createElement("div"));
    place.replaceChildren();
    opening.hidden = false;
    again.hidden = true;
    one("[data-file]").value = "";
    document.title = "Weatherglass";
    one("#main").focus();
  }

  function wire() {
    for (const button of all("[data-patient]", place)) {
      button.addEventListener("click", () => {
        history.pushState({ patient: Number(button.dataset.patient) }, "");
        review(record, Number(button.dataset.patient));
      });
    }
    for (const button of all("[data-back]", place)) button.addEventListener("click", () => history.back());
    for (const button of all("[data-open-again]", place)) button.addEventListener("click", home);
    const filter = one("[data-ward-filter]", place);
    if (filter) {
      filter.hidden = false;
      one("[data-ward-choice]", filter).addEventListener("change", (event) => {
        let count = 0;
        for (const bed of all("[data-ward-name]", place)) {
          bed.hidden = event.target.value !== "" && bed.dataset.wardName !== event.target.value;
          count += bed.hidden ? 0 : 1;
        }
        one("[data-ward-shown]", filter).textContent = `${count} shown`;
      });
    }
    for (const section of all("[data-fhir]", place)) one("[data-fhir-show]", section).addEventListener("click", () => fetchAnswer(section));
  }

  /** The raw answer comes from the operation itself, not from the page. */
  async function fetchAnswer(section) {
    const note = one("[data-fhir-note]", section);
    const answer = await exchange("Fetching the answer.", (signal) => Weatherglass.opening.send("/fhir/$review-deterioration", record, section.dataset.contentType, { signal, onProgress: () => {} }));
    if (!answer) return;
    const shown = Weatherglass.layOut(answer.text, 400000);
    const text = one("[data-fhir-text]", section);
    text.textContent = shown.text;
    text.hidden = false;
    note.textContent = `Status ${answer.status}, ${size(answer.text.length)}${shown.cut ? "; the beginning is shown, save it to read the rest" : ""}.`;
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
  async function openDemo(name) {
    const blob = await exchange("Fetching an invented patient.", (signal) => Weatherglass.opening.demo(name, signal));
    if (blob) await review(blob);
  }
  again.addEventListener("click", home);
  one("[data-cancel]").addEventListener("click", () => running && running.abort());
  addEventListener("popstate", (event) => {
    if (record) review(record, event.state ? event.state.patient : null);
  });

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
  if (wanted) openDemo(wanted);
})();
