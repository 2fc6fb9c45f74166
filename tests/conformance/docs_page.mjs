// Opens the documentation in Chromium, calls an operation from it, and says what happened, as JSON on one line.
import { existsSync } from "node:fs";
import { chromium } from "playwright-core";

const [base, picture] = process.argv.slice(2);
const browser = await chromium.launch({
  executablePath: ["/usr/bin/chromium-headless-shell", "/usr/bin/chromium"].find(existsSync),
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const page = await browser.newPage({ viewport: { width: 1200, height: 1400 } });
const said = { complaints: [], asked: [], answers: [] };
page.on("console", (message) => { if (message.type() === "error") said.complaints.push(message.text()); });
page.on("pageerror", (error) => said.complaints.push(String(error)));
page.on("request", (request) => said.asked.push(request.url()));
page.on("response", (response) => { if (response.request().method() === "POST") said.answers.push(response.status()); });

await page.goto(`${base}/docs`, { waitUntil: "networkidle" });
await page.locator(".opblock").first().waitFor({ timeout: 60000 });
said.title = await page.title();
said.operations = await page.locator(".opblock").count();
const review = page.locator(".opblock", { hasText: "$review-deterioration" }).first();
await review.locator(".opblock-summary-control").click();
await review.locator("button.try-out__btn").click();
await review.locator("button.execute").click();
await review.locator(".live-responses-table tr.response td.response-col_status").first().waitFor({ timeout: 30000 });
said.shown = (await review.locator(".live-responses-table tr.response td.response-col_status").first().innerText()).trim();
if (picture) await page.screenshot({ path: picture });
await browser.close();
console.log(JSON.stringify(said));
