// Opens a page in headless Chromium: prints it on A4 and Letter, checks its accessibility (axe-core), watches for
// anything that runs or is fetched, and takes pictures of the legend's samples as somebody sees
// them who sees no colour.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";

const [modules, page_file, folder] = process.argv.slice(2);
const require = createRequire(path.join(modules, "node_modules", "x.js"));
const puppeteer = require("puppeteer-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const browser = await puppeteer.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu"],
});
const page = await browser.newPage();
const noticed = [];
page.on("dialog", (dialog) => { noticed.push(`dialog: ${dialog.message()}`); dialog.dismiss(); });
page.on("console", (message) => noticed.push(`console: ${message.text()}`));
page.on("pageerror", (error) => noticed.push(`error: ${error.message}`));
const requested = (request) => {
  if (request.url() !== pathToFileURL(page_file).href) noticed.push(`request: ${request.url()}`);
};
page.on("request", requested);
await page.setViewport({ width: 1000, height: 1400, deviceScaleFactor: 2 });
await page.goto(pathToFileURL(page_file).href);
for (const format of ["a4", "letter"]) {
  await page.pdf({ path: path.join(folder, `${format}.pdf`), format, preferCSSPageSize: false });
}
// The browser's own colour filter is such a request.
page.off("request", requested);
await page.emulateVisionDeficiency("achromatopsia");
const samples = await page.$$(".sample");
for (const [index, sample] of samples.entries()) {
  await sample.screenshot({ path: path.join(folder, `sample-${index}.png`) });
}
await page.emulateVisionDeficiency("none");
const overflow = await page.evaluate(() => {
  return document.documentElement.scrollWidth - document.documentElement.clientWidth;
});
await page.setViewport({ width: 360, height: 700 });
const narrow_overflow = await page.evaluate(() => {
  return document.documentElement.scrollWidth - document.documentElement.clientWidth;
});
await page.evaluate(axe);
const result = await page.evaluate(async () => {
  const found = await axe.run(document, { resultTypes: ["violations", "incomplete"] });
  const told = (list) => list.map((rule) => `${rule.id}: ${rule.nodes.map((node) => node.html).slice(0, 3)}`);
  return { violations: told(found.violations), passes: found.passes.length, incomplete: told(found.incomplete) };
});
const pictures = await page.$$eval("svg[role=img]", (list) => list.map((one) => one.getAttribute("aria-label")));
console.log(JSON.stringify({ noticed, overflow, narrow_overflow, pictures, axe: result, n_samples: samples.length }));
await browser.close();
