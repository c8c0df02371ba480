// Drives headless Chromium for a check in Python: reads one command of JSON a line, answers each with one line.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import path from "node:path";
import readline from "node:readline";

const [modules] = process.argv.slice(2);
const require = createRequire(path.join(modules, "node_modules", "x.js"));
const puppeteer = require("puppeteer-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const browser = await puppeteer.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu"],
});
const tabs = new Map();
let noticed = [];

async function open(tab, url) {
  const page = await browser.newPage();
  tabs.set(tab, page);
  page.on("dialog", (dialog) => { noticed.push(`dialog: ${dialog.message()}`); dialog.dismiss(); });
  page.on("console", (message) => noticed.push(`console: ${message.text()}`));
  page.on("pageerror", (error) => noticed.push(`error: ${error.message}`));
  const own = new URL(url).origin;
  page.on("request", (request) => {
    if (!request.url().startsWith(own)) noticed.push(`request: ${request.url()}`);
  });
  await page.setViewport({ width: 800, height: 1180 });
  await page.goto(url);
}

const commands = {
  open: ({ tab, url }) => open(tab, url),
  reload: ({ page }) => page.reload(),
  close: ({ page }) => page.close(),
  front: ({ page }) => page.bringToFront(),
  evaluate: ({ page, script }) => page.evaluate(script),
  wait: ({ page, script, seconds }) => page.waitForFunction(script, { timeout: 1000 * seconds, polling: 50 }).then(() => true),
  press: ({ page, key }) => page.keyboard.press(key),
  type: ({ page, text }) => page.keyboard.type(text),
  choose: async ({ page, field, file }) => (await page.$(field)).uploadFile(file),
  click: async ({ page, name }) => {
    const found = await page.$(`::-p-aria([name="${name}"][role="button"])`);
    if (!found) throw new Error(`there is no button "${name}"`);
    await found.click();
  },
  view: ({ page, width, height, scale }) => page.setViewport({ width, height, deviceScaleFactor: scale ?? 1 }),
  media: ({ page, features }) => page.emulateMediaFeatures(features),
  picture: ({ page, file }) => page.screenshot({ path: file }).then(() => true),
  cookies: ({ page }) => page.cookies(),
  noticed: () => {
    const told = noticed;
    noticed = [];
    return told;
  },
  axe: async ({ page }) => {
    // The page's own policy forbids scripts of others, so it comes in by the driver.
    await page.evaluate(axe);
    return page.evaluate(async () => {
      const found = await axe.run(document, { resultTypes: ["violations"] });
      const told = found.violations.map((rule) => `${rule.id}: ${rule.nodes.map((node) => node.html).slice(0, 3)}`);
      return { violations: told, passes: found.passes.length };
    });
  },
};

for await (const line of readline.createInterface({ input: process.stdin })) {
  const command = JSON.parse(line);
  try {
    const answer = await commands[command.do]({ ...command, page: tabs.get(command.tab) });
    console.log(JSON.stringify({ answer: answer ?? null }));
  } catch (error) {
    console.log(JSON.stringify({ error: `${error.message ?? error}` }));
  }
}
await browser.close();
