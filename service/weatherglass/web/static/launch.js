/* The page opened from a record system, or by somebody who signs in there. The token stays in this tab's memory
   until another record is opened; a service that wants its callers signed in is shown it with what was read. */
"use strict";

Weatherglass.launch = (() => {
  const one = (selector) => document.querySelector(selector);
  const settings = JSON.parse(one("[data-launch-settings]").textContent);
  let signed = null;
  let page = null;

  const isGood = () => signed !== null && signed.ends > Date.now();
  const bearer = () => (settings && settings.shows_token && isGood() ? signed.token : null);

  /** From here on the page stands for this sign-in's record; for none of any when null. */
  function hold(one) {
    signed = one;
    note(null);
  }

  function note(read) {
    const place = one("[data-record-note]");
    place.hidden = read === null;
    one("[data-read-again]").hidden = read === null;
    if (read === null) return;
    const time = new Date().toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
    const lacks = read.lacks.length ? ` Not given out, so not known here: ${read.lacks.join(", ")}.` : "";
    place.textContent = `Read from the record at ${time} with your own sign-in.${lacks}`;
    place.toggleAttribute("data-lacks", read.lacks.length > 0);
  }

  async function open(by) {
    const read = await page.exchange("Reading the record.", (signal) => Weatherglass.record.read(settings, by, (done, all) => page.progress(`Reading the record, ${done} of ${all} parts.`, (100 * done) / all), signal));
    if (read === null) return;
    if (await page.review(read.blob, true, by)) note(read);
  }

  const leave = (base, launch) => page.exchange("Going to the record system to sign in.", (signal) => Weatherglass.signIn.begin(settings, base, launch, signal));

  async function comeBack(query) {
    const by = await page.exchange("Signing in.", (signal) => Weatherglass.signIn.finish(settings, query, signal));
    if (by !== null) await open(by);
  }

  function again() {
    if (isGood()) open(signed);
    else page.fail("The sign-in has ended. Open the record again from the record system.");
  }

  /** Do what the address asks for; what stands in it is used once and taken out of it. */
  function start(shown) {
    page = shown;
    for (const button of document.querySelectorAll("[data-sign-in]")) button.addEventListener("click", () => leave(button.dataset.signIn, null));
    one("[data-read-again]").addEventListener("click", again);
    const query = new URLSearchParams(location.search);
    const path = location.pathname.replace(/\/+$/, "");
    if (path !== "/launch" && path !== "/launch/back") return;
    history.replaceState(null, "", "/");
    if (settings === null) page.fail("Opening a record from a record system is not set up here. A file can be opened.");
    else if (path === "/launch") leave(query.get("iss"), query.get("launch"));
    else comeBack(query);
  }

  return { start, hold, bearer };
})();
