// A browser as one long-running process: an order per line in, an answer per line out.
// One page at a time; what the page says on the console or asks of other addresses is kept and told on demand.
"use strict";

const path = require("node:path");
const readline = require("node:readline");
const { existsSync, readFileSync } = require("node:fs");

const modules = path.join(__dirname, "..", "conformance", "node_modules");
const { chromium } = require(path.join(modules, "playwright-core"));
const axe = readFileSync(path.join(modules, "axe-core", "axe.min.js"), "utf-8");

const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync", "--renderer-process-limit=1",
];
// The one without windows does the same in less time; either is Debian's.
const executablePath = ["/usr/bin/chromium-headless-shell", "/usr/bin/chromium"].find(existsSync);
// Contrast is a matter of looks: the colours of a text and of all it stands on, its size and its weight. Of each look the
// first text, the one in the middle and the last are marked for axe; so is every text that is placed by itself, over what
// does not hold it, and every field.
const MARK_LOOKS = `(() => {
  const grounds = new Map([[null, ""]]);
  const ground = (one) => {
    if (!grounds.has(one)) {
      const style = getComputedStyle(one);
      const own = [style.backgroundColor, style.backgroundImage, style.opacity, style.mixBlendMode].join();
      const apart = ["absolute", "fixed"].includes(style.position) ? "apart " + grounds.size : "";
      const seen = own === "rgba(0, 0, 0, 0),none,1,normal" ? "" : own + ";";
      grounds.set(one, ground(one.parentElement) + seen + apart);
    }
    return grounds.get(one);
  };
  const looks = new Map();
  for (const one of document.querySelectorAll("body *")) {
    const isField = one.matches("input, select, textarea");
    const speaks = isField || [...one.childNodes].some((each) => each.nodeType === 3 && each.nodeValue.trim());
    if (!speaks || !one.getClientRects().length) continue;
    const style = getComputedStyle(one);
    const look = [
      ground(one), style.color, style.webkitTextFillColor, style.fontSize, style.fontWeight, style.textShadow,
      style.webkitTextStrokeWidth, style.visibility, isField && looks.size,
    ].join();
    looks.set(look, [...(looks.get(look) || []), one]);
  }
  for (const alike of looks.values()) {
    for (const one of [alike[0], alike[alike.length >> 1], alike.at(-1)]) one.dataset.contrast = "";
  }
  return looks.size;
})()`;
const FORGET_LOOKS = "document.querySelectorAll('[data-contrast]').forEach((one) => { delete one.dataset.contrast; })";
let browser;
let context;
let page;
let sharpness;
let told = [];
let asked = [];

const orders = {
  async open({ width = 1440, height = 900, scheme = "light", scale = 1, vision = "none", motion = "reduce" }) {
    browser ??= await chromium.launch({ executablePath, args: FLAGS });
    const last = page;
    if (sharpness !== scale) {
      if (context) await context.close();
      context = await browser.newContext({ deviceScaleFactor: scale, permissions: ["clipboard-read", "clipboard-write"] });
      sharpness = scale;
    }
    // A new tab in the process that is warm: the last one is closed when this one is there. Who signed in is forgotten.
    page = await context.newPage();
    if (last && !last.isClosed()) await last.close();
    await context.clearCookies();
    await page.setViewportSize({ width, height });
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: motion });
    told = [];
    asked = [];
    page.setDefaultTimeout(60000);
    page.on("console", (message) => {
      if (["error", "warning"].includes(message.type())) told.push(`${message.text()} ${message.location().url}`.trim());
    });
    page.on("pageerror", (error) => told.push(`thrown: ${error.message}`));
    page.on("dialog", async (dialog) => { told.push(`dialog: ${dialog.message()}`); await dialog.dismiss(); });
    page.on("request", (request) => asked.push(request.url()));
    if (vision !== "none") {
      const session = await context.newCDPSession(page);
      await session.send("Emulation.setEmulatedVisionDeficiency", { type: vision });
    }
  },
  async go({ address }) { await page.goto(address); },
  async arrive({ path: wanted }) { await page.waitForURL((address) => address.pathname === wanted); },
  async before({ code }) { await page.addInitScript(code); },
  async run({ code }) { return page.evaluate(code); },
  async until({ code, within = 30000 }) {
    // Asked again and again from outside: the page's policy forbids what waits inside it.
    const late = Date.now() + within;
    while (!(await page.evaluate(code))) {
      if (Date.now() > late) throw new Error(`never came true: ${code}`);
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
  },
  async click({ at }) { await page.click(at); },
  async fill({ at, text }) { await page.fill(at, text); },
  async pick({ at, label }) { await page.selectOption(at, { label }); },
  async press({ key, times = 1 }) { for (let i = 0; i < times; i += 1) await page.keyboard.press(key); },
  async choose({ at, file }) { await page.setInputFiles(at, file); },
  async hover({ at, x, y }) { await page.hover(at, { position: { x, y } }); },
  async text({ at }) { return page.locator(at).filter({ visible: true }).first().innerText(); },
  async texts({ at }) { return page.locator(at).allInnerTexts(); },
  async count({ at }) { return page.locator(at).count(); },
  async picture({ file, whole = false }) { await page.screenshot({ path: file, fullPage: whole }); },
  async paper({ file }) { await page.pdf({ path: file, preferCSSPageSize: true }); },
  async clipboard() { return page.evaluate("navigator.clipboard.readText()"); },
  async resize({ width, height }) {
    await page.setViewportSize({ width, height });
    await page.evaluate("new Promise((drawn) => { requestAnimationFrame(() => requestAnimationFrame(drawn)); })");
  },
  async scheme({ scheme }) { await page.emulateMedia({ colorScheme: scheme }); },
  async accessibility({ rules }) {
    const runOnly = rules ? { type: "rule", values: rules }
      : ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
    // By the debugger, so that the page's own policy stays as it is.
    if (!(await page.evaluate("typeof axe === 'object'"))) {
      await page.evaluate(`${axe}; axe.configure({ rules: [{ id: "color-contrast", selector: "[data-contrast]" }] })`);
    }
    // What is told below is the element itself: no selector is worked out for the thousands that are as they should be.
    const how = { runOnly, resultTypes: ["violations"], selectors: false };
    await page.evaluate(MARK_LOOKS);
    const found = await page.evaluate(`axe.run(document, ${JSON.stringify(how)})`);
    await page.evaluate(FORGET_LOOKS);
    return found.violations.map((one) => `${one.id}: ${one.help} (${one.nodes.map((node) => node.html.slice(0, 160)).slice(0, 3).join(" | ")})`);
  },
  async said() { return told; },
  async requests() { return asked; },
};

readline.createInterface({ input: process.stdin }).on("line", async (line) => {
  const { order, ...rest } = JSON.parse(line);
  let answer;
  try {
    answer = { value: (await orders[order](rest)) ?? null };
  } catch (error) {
    answer = { fault: `${order}: ${error.message}` };
  }
  process.stdout.write(`${JSON.stringify(answer)}\n`);
}).on("close", async () => {
  if (browser) await browser.close();
  process.exit(0);
});
