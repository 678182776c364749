// How fast the page is, by the browser's own timings: page.mjs PROGRAM [ROUNDS].
// A new program and a new browser profile each round; the record holds the invented visit, played to its end.
// Told: address printed after start, first contentful paint, bytes of the first view and of every place, interactions
// with their longest duration (Event Timing: from the input to the next paint), memory of the program. "Cold": the
// program's own file was put out of the system's cache first, as after the machine was switched on.
// Each with its budget; exit code 1 when one is passed. A busy machine makes times longer, never bytes.
import { execFileSync } from "node:child_process";
import { readFileSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { launched, started, stopped } from "../tests/journeys/browser.mjs";

const [program, rounds = "5"] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "gaswright-perf-"));
const store = join(folder, "record.db");
const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];
const memory = (pid) => {
  const status = readFileSync(`/proc/${pid}/status`, "utf8");
  const kB = (name) => Number(status.match(new RegExp(`${name}:\\s+(\\d+)`))[1]);
  return { now: kB("VmRSS") / 1024, most: kB("VmHWM") / 1024 };
};

// Every file of the page's own that was asked for, by name, with its size as it was sent. Every place is the same
// document, asked for under another address.
const files = async (page) =>
  new Map(
    await page.evaluate(() =>
      performance
        .getEntriesByType("resource")
        .concat(performance.getEntriesByType("navigation"))
        .filter((entry) => !new URL(entry.name).pathname.startsWith("/api/"))
        .map((entry) => [
          entry.entryType === "navigation" ? "/" : new URL(entry.name).pathname,
          entry.encodedBodySize,
        ]),
    ),
  );
const sum = (sizes) => [...sizes.values()].reduce((all, each) => all + each, 0);

// What the reader waits for after a touch or a key, in ms; each name with its longest.
async function interactions(page, steps) {
  await page.evaluate(() => {
    window.waits = [];
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries())
        if (entry.interactionId) window.waits.push({ name: entry.name, duration: entry.duration });
    }).observe({ type: "event", durationThreshold: 16, buffered: false });
  });
  const out = {};
  for (const [name, act] of Object.entries(steps)) {
    await page.evaluate(() => window.waits.splice(0));
    for (let i = 0; i < 5; i += 1) {
      await act(i);
      await page.waitForTimeout(250);
    }
    const waits = await page.evaluate(() => window.waits.map((wait) => wait.duration));
    // Under the threshold of 16 ms nothing is told.
    out[name] = waits.length === 0 ? 16 : Math.max(...waits);
  }
  return out;
}

// Linux lets go of a file's pages when it is told that they are not wanted.
const forget = () =>
  execFileSync("dd", [`of=${program}`, "oflag=nocache", "conv=notrunc,fdatasync", "count=0"], { stdio: "ignore" });

async function round(browser, first, cold = false) {
  if (cold) forget();
  const begun = performance.now();
  const { server, address } = await started(program, ["--store", store, "--by", "A. Person"]);
  const printed = performance.now() - begun;
  const context = await browser.newContext({ viewport: { width: 1366, height: 900 } });
  try {
    return { printed, ...(await measured(await context.newPage(), address, server.pid, first)) };
  } finally {
    await context.close();
    await stopped(server);
  }
}

async function measured(page, address, pid, first) {
  page.setDefaultTimeout(30_000);
  await page.goto(address);
  await page.locator("main").first().waitFor();
  await page.waitForTimeout(300);
  const paint = await page.evaluate(
    () => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? Number.NaN,
  );
  const firstFiles = await files(page);
  let told = {};
  if (first) {
    if (await page.getByRole("button", { name: "Play a whole visit" }).isVisible()) {
      await page.getByRole("button", { name: "Play a whole visit" }).click();
      await page.getByRole("button", { name: /^hand back/ }).waitFor();
      // What is to be done now leads on by itself.
      for (let i = 0; i < 12; i += 1) {
        const card = await page.locator("#now-title").innerText();
        await page.getByRole("button", { name: /Hand in the rest/ }).click();
        // By hand: the page's own policy lets no text be run that waits inside it.
        while (i < 11 && (await page.locator("#now-title").innerText()) === card) await page.waitForTimeout(50);
      }
    }
    await page.getByRole("option").nth(35).waitFor();
    const stages = page.locator("nav.stages button");
    const line = page.getByRole("listbox");
    const waits = await interactions(page, {
      "choosing a stage": (i) => stages.nth(2 * i).click(),
      "choosing a step": async (i) => {
        if (i === 0) await stages.nth(1).click();
        await page.locator(".steps .step").nth(i).click();
      },
      "a run by its key": async () => {
        await line.focus();
        await page.keyboard.press("ArrowLeft");
      },
      "a letter typed": async () => {
        await page.locator(".steps .step").first().click();
        await page.locator(".step-form textarea, .step-form input").first().pressSequentially("a");
      },
    });
    await page.getByRole("img", { name: /trace of detector/i }).first().waitFor();
    told = { waits, traced: await files(page) };
    const every = new Map(told.traced);
    told.places = {};
    for (const place of ["/", "/visits", "/look", "/analysers", "/trace", "/twin", "/sums", "/files", "/demo", "/settings"]) {
      const before = sum(every);
      await page.goto(new URL(place, page.url()).href);
      await page.locator("main").first().waitFor();
      await page.waitForTimeout(400);
      for (const [name, size] of await files(page)) every.set(name, size);
      told.places[place] = sum(every) - before;
    }
    told.every = every;
    told.memory = memory(pid);
  }
  return { paint, firstFiles, ...told };
}

const browser = await launched();
try {
  const empty = [];
  // With an empty record first: the ways in; then with the played visit.
  for (let i = 0; i < Number(rounds); i += 1) empty.push(await round(browser, false));
  const played = await round(browser, true);
  const open = [];
  for (let i = 0; i < Number(rounds); i += 1) open.push(await round(browser, false));
  const cold = await round(browser, false, true);
  let over = 0;
  const line = (name, value, unit, budget = null, decimals = 0) => {
    const passed = budget !== null && value > budget;
    if (passed) over += 1;
    const against = budget === null ? "" : `  (budget ${budget})${passed ? "  OVER" : ""}`;
    console.log(`${name.padEnd(52)} ${value.toFixed(decimals)} ${unit}${against}`);
  };
  const kB = (name, sizes, budget) => line(name, sum(sizes) / 1000, "kB", budget, 1);
  const middle = (list, of) => median(list.map(of));
  line("start to address printed, empty record, median", middle(empty, (r) => r.printed), "ms");
  line("first contentful paint, empty record, median", middle(empty, (r) => r.paint), "ms");
  line("start to first view, empty record, median", middle(empty, (r) => r.printed + r.paint), "ms", 300);
  line("first contentful paint, whole visit open, median", middle(open, (r) => r.paint), "ms");
  line("start to first view, whole visit open, median", middle(open, (r) => r.printed + r.paint), "ms", 300);
  line("start to first view, whole visit open, cold", cold.printed + cold.paint, "ms", 300);
  kB("bytes of the first view, empty record", empty[0].firstFiles, 100);
  kB("bytes of the first view, whole visit open", open[0].firstFiles, 100);
  kB("bytes with a trace drawn", played.traced, 100);
  kB("bytes with every place gone to", played.every, 100);
  for (const [place, more] of Object.entries(played.places)) line(`more for ${place}`, more / 1000, "kB", null, 1);
  for (const [name, wait] of Object.entries(played.waits)) line(`longest of five: ${name}`, wait, "ms", 100);
  line("memory of the program after the whole visit", played.memory.now, "MB");
  line("most memory it had", played.memory.most, "MB", 150);
  process.exitCode = over > 0 ? 1 : 0;
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
}
