// Opens every page of a folder in a browser and checks what a reader needs of it; keeps screenshots and a print.
//
//     node check.mjs PAGES PICTURES [CHROMIUM]
import { readdirSync, readFileSync, mkdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve, join, basename } from "node:path";
import { chromium } from "playwright-core";

const [pages, pictures, executablePath = "/usr/bin/chromium"] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
// A4 with the demo's plan takes two pages, the card one.
const MOST_PAGES = { "plan.html": 2, "card.html": 1 };
const faults = [];

/** Pages of a PDF: its page objects (ISO 32000-1, 7.7.3.3). */
const pagesOf = (pdf) => (pdf.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;

async function open(browser, file, width, scheme) {
  const context = await browser.newContext({ viewport: { width, height: 900 }, colorScheme: scheme });
  const page = await context.newPage();
  const told = (what) => faults.push(`${basename(file)} at ${width} px, ${scheme}: ${what}`);
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) told(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => told(`script: ${error.message}`));
  page.on("request", (request) => {
    if (!/^(file|data):/.test(request.url())) told(`asks for ${request.url()}`);
  });
  await page.goto(`file://${file}`);
  return { page, told, close: () => context.close() };
}

async function violations(page, told) {
  // The page's policy lets nothing in; the checker is put in by the debugger, past it.
  await page.evaluate(axe);
  const result = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
  for (const violation of result.violations) {
    told(`axe ${violation.id}: ${violation.help} (${violation.nodes.map((n) => n.target.join(" ")).slice(0, 3).join("; ")})`);
  }
}

/** Pointing at the profile shows the place on the map, pointing at the map the place on the profile, and so does the slider. */
async function pointing(page, told) {
  if ((await page.locator("[data-road]").count()) === 0) return;
  const road = page.locator("[data-road]").first();
  const profile = road.locator("svg.profile:visible").first();
  const map = road.locator("svg.map").first();
  const dot = map.locator("circle.cursor");
  const line = profile.locator(".cursor");
  const readout = road.locator(".walk output");
  const spot = async () => [await dot.getAttribute("cx"), await dot.getAttribute("cy"), await line.getAttribute("transform")].join();

  await profile.hover({ position: { x: 150, y: 120 } });
  if ((await dot.getAttribute("visibility")) !== "visible") told("pointing at the profile shows nothing on the map");
  const first = await spot();
  const box = await profile.boundingBox();
  await profile.hover({ position: { x: box.width * 0.8, y: 120 } });
  const second = await spot();
  if (first === second) told("pointing elsewhere on the profile moves nothing");
  await map.hover({ position: { x: 60, y: 60 } });
  const third = await spot();
  if (second === third) told("pointing at the map moves nothing on the profile");
  const slider = road.locator("input[type=range]");
  await slider.focus();
  await page.keyboard.press("Home");
  await page.keyboard.press("ArrowRight");
  if ((await spot()) === third) told("the slider moves nothing");
  if (!/\d.*[·].*%/.test(await readout.textContent())) told("the place is not told in words");
}

async function fits(page, told) {
  const { wide, here } = await page.evaluate(() => ({
    wide: document.documentElement.scrollWidth,
    here: document.documentElement.clientWidth,
  }));
  if (wide > here) told(`is ${wide} px wide and has to be pushed sideways`);
}

async function print(page, file, told) {
  const pdf = await page.pdf({ preferCSSPageSize: true, printBackground: true });
  const name = basename(file);
  writeFileSync(join(pictures, name.replace(/\.html$/, ".pdf")), pdf);
  const count = pagesOf(pdf);
  if (count === 0 || count > (MOST_PAGES[name] ?? Infinity)) told(`prints on ${count} pages`);
}

mkdirSync(pictures, { recursive: true });
const browser = await chromium.launch({ executablePath, args: ["--no-sandbox", "--disable-gpu"] });
const files = readdirSync(pages).filter((name) => name.endsWith(".html")).map((name) => resolve(pages, name));
if (files.length === 0) faults.push(`no pages in ${pages}`);
for (const file of files) {
  for (const scheme of ["light", "dark"]) {
    for (const width of [360, 800, 1400]) {
      const { page, told, close } = await open(browser, file, width, scheme);
      await fits(page, told);
      await page.screenshot({ path: join(pictures, `${basename(file, ".html")}-${width}-${scheme}.png`), fullPage: true });
      await pointing(page, told);
      await violations(page, told);
      if (width === 1400 && scheme === "dark") await print(page, file, told);
      await close();
    }
  }
}
await browser.close();
for (const fault of faults) console.error(fault);
console.log(`${files.length} pages, ${faults.length} faults; pictures in ${pictures}`);
process.exitCode = faults.length > 0 ? 1 : 0;
