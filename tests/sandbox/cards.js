/* A viewer of CDS Hooks cards for the sandbox: calls patient-view as a record system does and shows what comes back. */
"use strict";

(async () => {
  const one = (selector) => document.querySelector(selector);
  const about = await (await fetch("/about")).json();
  for (const [id, name] of about.patients) one("#patient").append(new Option(name, id));

  function made(tag, text, more = {}) {
    const element = document.createElement(tag);
    element.textContent = text;
    return Object.assign(element, more);
  }

  /** A link of the type smart gets the server and the launch from the record system (CDS Hooks 2.0.1, "Link"). */
  function address(link, patient) {
    if (link.type !== "smart") return link.url;
    const to = new URL(link.url);
    to.searchParams.set("iss", about.base);
    to.searchParams.set("launch", `launch-${patient}`);
    return to.href;
  }

  function shown(card, patient) {
    const place = document.createElement("section");
    place.className = "card";
    place.dataset.indicator = card.indicator;
    place.append(made("p", card.indicator), made("h2", card.summary), made("pre", card.detail || ""), made("p", `Source: ${card.source.label}`));
    for (const link of card.links || []) {
      const line = document.createElement("p");
      line.append(made("a", link.label, { href: address(link, patient), rel: "noreferrer" }));
      place.append(line);
    }
    for (const suggestion of card.suggestions || []) place.append(made("p", `Suggested: ${suggestion.label}`));
    return place;
  }

  one("#open").addEventListener("click", async () => {
    const patient = one("#patient").value;
    one("#said").textContent = "Asking.";
    one("#cards").replaceChildren();
    const call = await (await fetch(`/call/${encodeURIComponent(patient)}`)).json();
    one("#body").textContent = JSON.stringify(call, null, 1);
    const answer = await fetch(`${about.service}/cds-services/deterioration-review`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(call) });
    const { cards } = answer.ok ? await answer.json() : { cards: [] };
    one("#cards").append(...cards.map((card) => shown(card, patient)));
    one("#said").textContent = answer.ok ? `${cards.length} cards.` : `The service answered ${answer.status}.`;
  });
})();
