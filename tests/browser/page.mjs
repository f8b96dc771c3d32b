// The local page as a person uses it, in a browser: the whole story, then keyboard alone, a phone, dark, a slow line, without script.
//
//     node page.mjs PROGRAM ROUTES PICTURES [CHROMIUM] [GPX-SCHEMA]
import { spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { mkdirSync, mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const [program, routes, pictures, executablePath = "/usr/bin/chromium", schema] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
mkdirSync(pictures, { recursive: true });
const faults = [];
const check = (is, what) => {
  if (!is) faults.push(what);
};

/** Serves what is named and hands over the address. */
async function serve(...named) {
  const child = spawn(program, ["serve", "--no-open", ...named], { stdio: ["ignore", "pipe", "inherit"] });
  const [line] = await once(child.stdout, "data");
  return { address: line.toString().trim(), stop: () => child.kill("SIGINT") };
}

async function open(browser, address, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1400, height: 900 }, acceptDownloads: true, ...options });
  const page = await context.newPage();
  page.on("console", (message) => {
    // A value that is refused is answered with a status that browsers log.
    if (message.type() === "error" && !message.text().includes("422")) faults.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => faults.push(`script: ${error.message}`));
  page.on("request", (request) => {
    if (!request.url().startsWith(new URL(address).origin) && !request.url().startsWith("data:")) faults.push(`asks for ${request.url()}`);
  });
  await page.goto(address);
  return page;
}

async function violations(page, where) {
  await page.evaluate(axe);
  const result = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
  for (const violation of result.violations) {
    faults.push(`${where}: axe ${violation.id}: ${violation.help} (${violation.nodes.map((n) => n.target.join(" ")).slice(0, 3).join("; ")})`);
  }
}

async function narrow(page, where) {
  const [wide, here] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
  check(wide <= here, `${where}: ${wide} px wide on a screen of ${here}`);
}

const verdict = (page) => page.locator("#plan .verdict").textContent();
const says = (page, text) => page.waitForFunction((t) => document.querySelector("#plan .verdict")?.textContent.includes(t), text, { timeout: 20000 });
const settled = (page, part) => page.waitForURL((url) => decodeURIComponent(url.search).includes(part), { timeout: 20000 });
const set = async (page, key, value) => {
  const control = page.locator(`[name="${key}"]`);
  await control.fill(value);
};

/** A person with a route, a rider and six fours. */
async function story(browser) {
  // A folder without routes: the page waits for the first one.
  const served = await serve(mkdtempSync(join(tmpdir(), "empty-")));
  const page = await open(browser, served.address);
  check((await page.locator("#plan").textContent()).includes("No route is here"), "an empty page does not say what to do");
  // Drop the demo loop.
  const transfer = await page.evaluateHandle((text) => {
    const data = new DataTransfer();
    data.items.add(new File([text], "big-loop.gpx", { type: "application/gpx+xml" }));
    return data;
  }, readFileSync(join(routes, "big-loop.gpx"), "utf8"));
  await page.dispatchEvent("body", "dragover", { dataTransfer: transfer });
  check(await page.evaluate(() => document.body.classList.contains("dropping")), "dragging a file over the page shows nothing");
  await page.dispatchEvent("body", "drop", { dataTransfer: transfer });
  await says(page, "fit");
  // Set the rider, ask for six fours, see six reps.
  await set(page, "rider.mass_kg", "66");
  await set(page, "rider.threshold_w", "245");
  await set(page, "1.reps", "6");
  await set(page, "1.work", "4:00");
  await says(page, "All 6 reps fit");
  await settled(page, "rider.threshold_w=245");
  check((await page.locator("#plan table.reps").first().locator("tbody tr").count()) === 6, "six reps are not six lines");
  await page.screenshot({ path: join(pictures, "page-story.png"), fullPage: true });
  // A band in watts is the same band in per cent of 245 W, and back.
  const band = () => page.evaluate(() => ["from", "to"].map((end) => document.querySelector(`[name="1.power.${end}"]`).value).join("-"));
  const inUnit = async (unit) => {
    await page.evaluate(() => { document.querySelector('[name="1.power.unit"]').closest("details").open = true; });
    await page.locator('[name="1.power.unit"]').selectOption(unit);
    await page.waitForFunction((u) => document.querySelector('[name="1.power.unit"]').value === u && location.search.includes(`1.power.unit=${encodeURIComponent(u)}`), unit);
    return band();
  };
  check((await band()) === "76-90", "the set is not the demo's");
  check((await inUnit("W")) === "186-221", "watts are not per cent of the threshold");
  check((await inUnit("%")) === "75.9-90.2", "per cent are not watts over the threshold");
  await says(page, "All 6 reps fit");
  // Point at the profile, see the map, and back.
  const dot = page.locator("svg.map circle.cursor");
  await page.locator("svg.profile:visible").hover({ position: { x: 300, y: 100 } });
  check((await dot.getAttribute("visibility")) === "visible", "pointing at the profile shows nothing on the map");
  // Other sprockets: reps drop out, with reasons.
  const sprockets = await page.locator('[name="bike.sprockets"]').inputValue();
  await set(page, "bike.sprockets", "11 12 13");
  await says(page, " of 6 reps fit");
  await page.locator("#plan .stop").first().waitFor();
  check((await page.locator("#plan .stop").first().textContent()).includes("No place for"), "no reason is told for a rep without a place");
  // A slip is told beside its control and the plan stays.
  await set(page, "bike.sprockets", "11 twelve");
  await page.locator("#c-bike-sprockets-fault").waitFor({ state: "visible" });
  check((await verdict(page)).includes(" of 6 reps fit"), "a slip takes the plan away");
  await violations(page, "with a fault");
  // Undo comes back to the sprockets that were.
  await set(page, "bike.sprockets", "11 12 13");
  await page.locator("#c-bike-sprockets-fault").waitFor({ state: "hidden" });
  await settled(page, "11+12+13");
  await page.waitForTimeout(800);
  await page.locator("#undo").click();
  await says(page, "All 6 reps fit");
  check((await page.locator('[name="bike.sprockets"]').inputValue()) === sprockets, "undo does not bring the sprockets back");
  // Pin a rep, leave a climb out.
  await page.locator("a.wish", { hasText: "Keep rep 2 here" }).first().click();
  await page.locator("a.wish.on", { hasText: "Rep 2 kept" }).waitFor();
  await page.locator("tr.used a.wish", { hasText: "Leave out" }).last().click();
  await page.locator("a.wish.on", { hasText: "Left out" }).waitFor();
  await page.locator("a.wish.on", { hasText: "Rep 2 kept" }).waitFor();
  // Take it along.
  const take = async (name) => {
    const [download] = await Promise.all([page.waitForEvent("download"), page.locator(`a[download="${name}"]`).click()]);
    const path = join(pictures, name);
    await download.saveAs(path);
    return readFileSync(path, "utf8");
  };
  const gpx = await take("plan.gpx");
  check(gpx.includes("<gpx"), "the GPX is none");
  if (schema) {
    const told = spawnSync("xmllint", ["--noout", "--schema", schema, join(pictures, "plan.gpx")], { encoding: "utf8" });
    check(told.status === 0, `the GPX does not follow its schema: ${told.stderr}`);
  }
  const json = JSON.parse(await take("plan.json"));
  check(json.schema === "hillwright.plan/1", "the JSON has no schema");
  // A rider file that was saved is taken again.
  check((await take("rider.toml")).includes("mass_kg = 66"), "the rider file has not the rider");
  await page.locator("summary", { hasText: "Rider and set files" }).click();
  await page.locator("#file-rider").setInputFiles(join(pictures, "rider.toml"));
  await page.waitForTimeout(500);
  // The bookmark, in another window.
  const bookmark = page.url();
  const before = await page.locator("#plan table.reps").first().textContent();
  const again = await open(browser, bookmark);
  check((await again.locator("#plan table.reps").first().textContent()) === before, "the bookmark shows another plan");
  await violations(page, "story");
  served.stop();
}

/** On no width is the page wider than the screen, or does one part lie over another. */
async function widths(browser, address) {
  for (const width of [1920, 1366, 1331, 1330, 1280, 1100, 961, 960, 800, 601, 600, 480, 360]) {
    const page = await open(browser, address, { viewport: { width, height: 900 } });
    await narrow(page, `${width} px`);
    const over = await page.evaluate(() => {
      const box = (part) => (part.querySelector("table") ?? part).getBoundingClientRect();
      const apart = (a, b) => a.right <= b.left || b.right <= a.left || a.bottom <= b.top || b.bottom <= a.top;
      return [...document.querySelectorAll("#plan .two")].some((two) => !apart(box(two.children[0]), box(two.children[1])));
    });
    check(!over, `${width} px: a table lies over the picture beside it`);
    await page.context().close();
  }
}

/** The demo on other screens. */
async function looks(browser, address) {
  for (const [width, colorScheme] of [[1400, "light"], [1400, "dark"], [800, "light"], [360, "light"], [360, "dark"]]) {
    const page = await open(browser, address, { viewport: { width, height: 900 }, colorScheme });
    const where = `${width} px, ${colorScheme}`;
    await narrow(page, where);
    await violations(page, where);
    await page.screenshot({ path: join(pictures, `page-${width}-${colorScheme}.png`), fullPage: true });
    await page.screenshot({ path: join(pictures, `page-${width}-${colorScheme}-first.png`) });
    await page.context().close();
  }
}

/** Without a pointer: to the mass by tabs, up by an arrow, to a wish, and it holds. */
async function keyboard(browser, address) {
  const page = await open(browser, address);
  const at = () => page.evaluate(() => document.activeElement?.getAttribute("name") ?? document.activeElement?.className);
  const reach = async (name) => {
    for (let tabs = 0; tabs < 120; tabs += 1) {
      if ((await at()) === name) return true;
      await page.keyboard.press("Tab");
    }
    return false;
  };
  await page.keyboard.press("Tab");
  check((await at()) === "skip", "the first tab does not offer the way to the plan");
  check(await reach("rider.mass_kg"), "the mass can't be reached by tabs");
  const before = await page.locator('[name="rider.mass_kg"]').inputValue();
  for (let i = 0; i < 8; i += 1) await page.keyboard.press("ArrowUp");
  await settled(page, "rider.mass_kg=72");
  check((await at()) === "rider.mass_kg", `the focus is lost while the plan changes (from ${before} kg)`);
  check(await reach("wish"), "no wish can be reached by tabs");
  await page.keyboard.press("Enter");
  await page.locator("a.wish.on").first().waitFor();
  check((await at()).includes("wish"), "the focus is lost after a wish");
  await page.context().close();
}

/** A slow line, and none. */
async function slow(browser, address) {
  const page = await open(browser, address);
  const line = await page.context().newCDPSession(page);
  await line.send("Network.emulateNetworkConditions", { offline: false, latency: 400, downloadThroughput: 50000, uploadThroughput: 20000 });
  const reps = page.locator('[name="1.reps"]');
  for (const count of ["5", "4", "3", "2"]) await reps.fill(count);
  await says(page, "All 2 reps fit");
  await line.send("Network.emulateNetworkConditions", { offline: true, latency: 0, downloadThroughput: 0, uploadThroughput: 0 });
  page.removeAllListeners("console");
  await reps.fill("3");
  await page.locator("#told", { hasText: "does not answer" }).waitFor();
  await page.context().close();
}

/** Whether something comes onto the page, be it after a while. */
async function appears(locator) {
  return locator.first().waitFor().then(() => true, () => false);
}

/** Without script everything works but dragging. */
async function bare(browser, address) {
  const page = await open(browser, address, { javaScriptEnabled: false });
  await page.locator('[name="1.reps"]').fill("3");
  await page.locator(".go button").click();
  check((await verdict(page)).includes("All 3 reps fit"), "the form does nothing without script");
  await page.locator("a.wish", { hasText: "Leave out" }).first().click();
  check(await appears(page.locator("a.wish.on")), "a wish does nothing without script");
  await page.locator("#file-routes").setInputFiles(join(routes, "harbour-hill.gpx"));
  await page.locator('form[action^="/routes"] button').click();
  check(await appears(page.locator("ol.routes form").nth(2)), "a route can't be added without script");
  await page.context().close();
}

/** From a control to the plan on the page, first paint, bytes: told, and never a reason to fail here. */
async function pace(browser, address) {
  const page = await open(browser, address);
  const paint = await page.evaluate(() => performance.getEntriesByType("paint").find((entry) => entry.name === "first-contentful-paint")?.startTime);
  const bytes = await page.evaluate(() => performance.getEntriesByType("navigation")[0].transferSize + performance.getEntriesByType("resource").reduce((sum, each) => sum + each.transferSize, 0));
  const took = await page.evaluate(async () => {
    const mass = document.querySelector('[name="rider.mass_kg"]');
    const all = [];
    for (let i = 0; i < 40; i += 1) {
      const before = performance.now();
      const changed = new Promise((resolve) => {
        new MutationObserver((_, watch) => {
          watch.disconnect();
          requestAnimationFrame(() => resolve());
        }).observe(document.querySelector(".desk"), { childList: true });
      });
      mass.value = 60 + i / 4;
      mass.dispatchEvent(new Event("input", { bubbles: true }));
      await changed;
      all.push(performance.now() - before);
    }
    return all.sort((a, b) => a - b);
  });
  const figures = { first_paint_ms: paint, page_bytes: bytes, control_to_plan_ms: { median: took[20], nine_in_ten: took[36] } };
  writeFileSync(join(pictures, "page-pace.json"), JSON.stringify(figures, null, 2));
  console.log(JSON.stringify(figures));
  check(bytes < 300000, `the page is ${bytes} bytes`);
  await page.context().close();
}

const browser = await chromium.launch({ executablePath, args: ["--no-sandbox", "--disable-gpu"] });
const served = await serve();
for (const [name, part] of Object.entries({ widths, looks, keyboard, slow, pace, bare })) {
  try {
    await part(browser, served.address);
  } catch (error) {
    faults.push(`${name}: ${error.message}`);
  }
}
served.stop();
try {
  await story(browser);
} catch (error) {
  faults.push(`story: ${error.message}`);
}
await browser.close();
for (const fault of faults) console.error(fault);
console.log(`the page: ${faults.length} faults; pictures in ${pictures}`);
process.exitCode = faults.length > 0 ? 1 : 0;
