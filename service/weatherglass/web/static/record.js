/* Reading a patient's record from a record system with the reader's own token, page by page, as it is sent.
   No number of it is read here: the pages are put together as text, and the service reads them. */
"use strict";

Weatherglass.record = (() => {
  const MOST_PAGES = 2000;

  /** How much of a type the token lets us read: "all", "part" (SMART scopes with a filter) or "none". */
  function granted(scopes, kind) {
    if (scopes === null) return "all";
    let best = "none";
    for (const scope of scopes) {
      const parts = /^(?:patient|user)\/(\*|[A-Za-z]+)\.(\*|read|write|[cruds]+)(\?.*)?$/.exec(scope);
      if (!parts || (parts[1] !== "*" && parts[1] !== kind)) continue;
      const reads = ["*", "read"].includes(parts[2]) || (parts[2].includes("r") && (kind === "Patient" || parts[2].includes("s")) && parts[2] !== "write");
      if (reads && !parts[3]) return "all";
      if (reads) best = "part";
    }
    return best;
  }

  /** The next page, when it lies at the same server below the same base: a token goes nowhere else. */
  function within(base, address) {
    const next = new URL(address, `${base}/`);
    const home = new URL(base);
    if (next.origin === home.origin && (next.pathname === home.pathname || next.pathname.startsWith(`${home.pathname.replace(/\/$/, "")}/`))) return next.href;
    throw new Error("A further page of the record lies at another address; it was not asked, and nothing was reviewed.");
  }

  /** Every page of one type; null when the record system does not give it out. */
  async function pagesOf(reading, kind) {
    const { signed, settings, signal } = reading;
    const pages = [];
    let address = `${signed.base}/${settings.searches[kind].replace("{patient}", encodeURIComponent(signed.patient))}`;
    while (address) {
      const answer = await Weatherglass.signIn.ask(address, `reading ${kind}`, { signal, headers: { Accept: "application/fhir+json", Authorization: `Bearer ${signed.token}` } });
      if ([400, 403, 404, 405, 410, 501].includes(answer.status) && pages.length === 0 && !settings.required.includes(kind)) return null;
      if (!answer.ok) throw new Error(answer.status === 401 ? "The sign-in has ended, or does not reach this record. Open the record again." : `The record system answered ${answer.status} when it was asked for ${kind}. A record with a hole in it is not reviewed; try again.`);
      const text = await answer.text();
      reading.size += text.length;
      if (reading.size > settings.most_bytes) throw new Error("The record is larger than this service takes. Nothing was reviewed.");
      const page = shapeOf(text, kind);
      pages.push({ address, text });
      const next = page.resourceType === "Bundle" && (page.link || []).find((link) => link.relation === "next");
      address = next ? within(signed.base, next.url) : null;
      if (pages.length > MOST_PAGES || pages.some((one) => one.address === address)) throw new Error("The pages of the record do not end. Nothing was reviewed.");
    }
    return pages;
  }

  function shapeOf(text, kind) {
    let read = null;
    try {
      read = JSON.parse(text);
    } catch { /* Said below. */ }
    const wanted = kind === "Patient" ? "Patient" : "Bundle";
    if (!read || read.resourceType !== wanted) throw new Error(`The record system's answer for ${kind} cannot be read. Nothing was reviewed.`);
    return read;
  }

  /**
   * Read the whole record.
   * @returns blob: the record as one Bundle; lacks: what of it could not be read
   */
  async function read(settings, signed, onProgress, signal) {
    const reading = { settings, signed, signal, size: 0 };
    const kinds = Object.keys(settings.searches);
    const entries = [];
    const lacks = [];
    let done = 0;
    await Promise.all(kinds.map(async (kind) => {
      const reach = granted(signed.scopes, kind);
      if (reach === "none" && settings.required.includes(kind)) throw new Error(`The sign-in does not let this page read ${kind}, without which nothing is reviewed.`);
      const pages = reach === "none" ? null : await pagesOf(reading, kind);
      if (pages === null) lacks.push(kind);
      else if (reach === "part") lacks.push(`part of ${kind}`);
      for (const { address, text } of pages || []) entries.push(`{"fullUrl":${JSON.stringify(address)},"resource":${text}}`);
      done += 1;
      onProgress(done, kinds.length);
    }));
    if (lacks.length) entries.push('{"resource":{"resourceType":"OperationOutcome","issue":[{"severity":"warning","code":"incomplete"}]}}');
    return { blob: bundled(entries), lacks: lacks.sort() };
  }

  function bundled(entries) {
    return new Blob(['{"resourceType":"Bundle","type":"collection","entry":[', ...entries.flatMap((entry, at) => (at ? [",", entry] : [entry])), "]}"]);
  }

  return { read };
})();
