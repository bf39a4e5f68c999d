// Opens pages in headless Chromium as a reader would, from the disk, and says what is wrong.
//
//   node check.mjs FOLDER_FOR_PICTURES PAGE.html...
//
// README.md beside this file says how to get what it needs. Exit status 1 where anything is wrong.
import { readFileSync, mkdirSync } from "node:fs";
import { createRequire } from "node:module";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const executablePath = process.env.CHROMIUM || "/usr/bin/chromium";
const [pictures, ...pages] = process.argv.slice(2);
if (!pages.length) {
  console.error("usage: node check.mjs FOLDER_FOR_PICTURES PAGE.html...");
  process.exit(2);
}
mkdirSync(pictures, { recursive: true });

const WINDOWS = [
  { name: "desktop", width: 1400, height: 900, colorScheme: "light" },
  { name: "dark", width: 1400, height: 900, colorScheme: "dark" },
  { name: "phone", width: 360, height: 780, colorScheme: "light", isMobile: true, hasTouch: true },
  { name: "phone-dark", width: 360, height: 780, colorScheme: "dark", isMobile: true, hasTouch: true },
];

let wrong = 0;
const say = (ok, what) => {
  if (!ok) wrong += 1;
  console.log(`  ${ok ? "well " : "WRONG"} ${what}`);
};

/** A page opened from the disk; what it asked for and complained of is kept. */
async function opened(browser, path, { name, width, height, ...more }) {
  const context = await browser.newContext({ viewport: { width, height }, ...more });
  const page = await context.newPage();
  const heard = [];
  const asked = [];
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) heard.push(message.text());
  });
  page.on("pageerror", (error) => heard.push(String(error)));
  page.on("request", (request) => asked.push(request.url()));
  const url = pathToFileURL(resolve(path)).href;
  const start = performance.now();
  await page.goto(url, { waitUntil: "load" });
  const ms = performance.now() - start;
  return { context, page, heard, asked: () => asked.filter((one) => one !== url && !one.startsWith("data:")), ms };
}

async function accessible(page, name) {
  await page.evaluate(axe);
  const found = await page.evaluate(async () => {
    const result = await globalThis.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    });
    const short = (list) => list.map((one) => `${one.id} (${one.nodes.length}): ${one.nodes[0].html.slice(0, 160)}`);
    return { violations: short(result.violations), passes: result.passes.length, unsure: short(result.incomplete) };
  });
  say(!found.violations.length, `${name}: axe, ${found.passes} rules passed, violations: ${found.violations.join("; ") || "none"}`);
  if (found.unsure.length) console.log(`        to be looked at: ${found.unsure.join("; ")}`);
}

async function sorts(page) {
  const tables = await page.$$("table:not([data-fixed])");
  let table = null;
  // One whose last column is of numbers, and long enough to be out of order.
  for (const one of tables) {
    const fits = await one.evaluate((t) => t.tBodies[0].rows.length >= 4
      && t.tHead.rows[0].lastElementChild.matches("th.n")
      && [...t.tBodies[0].rows].every((row) => /\d/.test(row.lastElementChild.textContent))
      && new Set([...t.tBodies[0].rows].map((row) => row.lastElementChild.textContent)).size > 3);
    if (fits && !table) table = one;
  }
  if (!table) return console.log("        no table to sort");
  const column = () => table.$$eval("tbody tr", (rows) => rows.map((row) => row.cells[row.cells.length - 1].textContent.trim()));
  const state = () => table.$eval("thead tr", (row) => row.cells[row.cells.length - 1].getAttribute("aria-sort"));
  const value = (text) => Number(text.replace("−", "-").replace(/^[<>]/, "").replace(/[^-\d.].*$/, ""));
  const ordered = (list, sign) => list.every((x, i) => i === 0 || sign * value(x) >= sign * value(list[i - 1]));
  const before = await column();
  const button = (await table.$$("thead th button")).at(-1);
  await button.click();
  const up = await column();
  say((await state()) === "ascending" && ordered(up, 1), `sorting by a click: ${up.slice(0, 6).join(" ")}`);
  await button.focus();
  await page.keyboard.press("Enter");
  const down = await column();
  say((await state()) === "descending" && ordered(down, -1), `sorting by a key: ${down.slice(0, 6).join(" ")}`);
  await page.keyboard.press("Space");
  say((await state()) === "none" && (await column()).join() === before.join(), "a third press gives back the order of the report");
}

async function copies(context, page) {
  const button = await page.$(".tools button");
  if (!button) return console.log("        no table to copy");
  await context.grantPermissions(["clipboard-read", "clipboard-write"]);
  const rows = await page.$eval("table", (table) => table.rows.length);
  const seen = async () => page.evaluate(() => navigator.clipboard.readText());
  await page.evaluate(() => navigator.clipboard.writeText("nothing"));
  await button.click();
  await page.waitForFunction(() => document.querySelector("[role=status]").textContent !== "");
  const text = await seen();
  say(text.trim().split("\r\n").length === rows, `copying gives ${rows} lines: ${JSON.stringify(text.slice(0, 60))}`);
  // Without the clipboard interface, as in older browsers and pages opened from the disk.
  await page.evaluate(() => navigator.clipboard.writeText("nothing"));
  await page.evaluate(() => { globalThis.keep = navigator.clipboard.readText.bind(navigator.clipboard); Object.defineProperty(navigator, "clipboard", { value: undefined, configurable: true }); });
  await button.click();
  await page.waitForTimeout(100);
  const lines = (text) => text.replace(/\r\n/g, "\n");
  say(lines(await page.evaluate(() => globalThis.keep())) === lines(text), "copying without the clipboard interface gives the same");
  await page.evaluate(() => { document.execCommand = () => false; });
  await button.click();
  await page.waitForTimeout(100);
  const shown = await page.$eval("dialog[open] textarea", (area) => area.value).catch(() => "");
  say(lines(shown) === lines(text), "where nothing may be copied, the text is shown to copy by hand");
  await page.keyboard.press("Escape");
  await page.waitForTimeout(50);
  say(!(await page.$("dialog")), "and Escape closes it");
}

async function tips(page) {
  // A mark that no other mark lies on, in the middle of the window.
  const found = await page.evaluate(async () => {
    for (const title of document.querySelectorAll("svg.drawing g > title")) {
      title.parentElement.scrollIntoView({ block: "center" });
      const box = title.parentElement.getBoundingClientRect();
      const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
      if (title.parentElement.contains(document.elementFromPoint(x, y))) return { x, y, text: title.textContent };
    }
    return null;
  });
  if (!found) return console.log("        no marks with values");
  await page.waitForTimeout(300);
  await page.mouse.move(found.x, found.y);
  await page.waitForFunction(() => !document.querySelector(".tip").hidden, null, { timeout: 5000 }).catch(() => {});
  const tip = await page.$eval(".tip", (one) => (one.hidden ? "" : one.textContent));
  say(tip === found.text, `the pointer on a mark shows its value: ${tip}`);
  await page.keyboard.press("Escape");
  say(await page.$eval(".tip", (one) => one.hidden), "Escape takes it away");
}

async function structure(page) {
  const found = await page.evaluate(() => {
    const lost = [...document.querySelectorAll('a[href^="#"]')].map((a) => a.getAttribute("href").slice(1))
      .filter((id) => !document.getElementById(decodeURIComponent(id)));
    return {
      lost,
      tables: document.querySelectorAll("table").length,
      figures: document.querySelectorAll("svg.drawing").length,
      marks: document.querySelectorAll("svg.drawing title").length,
      elements: document.querySelectorAll("*").length,
    };
  });
  say(!found.lost.length, `links inside the page lead somewhere: ${found.lost.join(" ") || "all"}`);
  console.log(`        ${found.tables} tables, ${found.figures} figures, ${found.marks} marks with values, ${found.elements} elements`);
}

const browser = await chromium.launch({ executablePath, args: ["--no-sandbox"] });
for (const path of pages) {
  const stem = basename(path, ".html") === "report" ? basename(resolve(path, "..")) : basename(path, ".html");
  console.log(path);
  for (const window of WINDOWS) {
    const { context, page, heard, asked, ms } = await opened(browser, path, window);
    await page.screenshot({ path: join(pictures, `${stem}-${window.name}.png`) });
    await accessible(page, window.name);
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    say(over <= 0, `${window.name}: nothing wider than the window (${over} px over)`);
    for (const [i, selector] of ["h3 ~ figure", "h4 ~ .table", "h4:nth-of-type(3)"].entries()) {
      const element = await page.$(selector);
      if (!element) continue;
      await element.evaluate((one) => one.scrollIntoView());
      await page.screenshot({ path: join(pictures, `${stem}-${window.name}-${i + 1}.png`) });
    }
    if (window.name === "desktop") {
      console.log(`        loaded in ${ms.toFixed(0)} ms`);
      await structure(page);
      await tips(page);
      await sorts(page);
      await copies(context, page);
      await page.emulateMedia({ media: "print" });
      await page.pdf({ path: join(pictures, `${stem}-print.pdf`), format: "A4", preferCSSPageSize: true, printBackground: true });
    }
    say(!heard.length, `${window.name}: console: ${heard.join("; ") || "silent"}`);
    say(!asked().length, `${window.name}: asked for: ${asked().join(" ") || "nothing"}`);
    await context.close();
  }
  const { context, page } = await opened(browser, path, { ...WINDOWS[0], javaScriptEnabled: false });
  const text = await page.textContent("main");
  say(text.length > 1000 && !(await page.$("button")), "readable without its script, and no dead button then");
  await context.close();
}
await browser.close();
console.log(wrong ? `${wrong} things are wrong` : "nothing wrong");
process.exit(wrong ? 1 : 0);
