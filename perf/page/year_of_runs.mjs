// A year of runs (131 400 rows as `assay replay` writes them) on the control chart: year_of_runs.mjs PROGRAM.
// Tells how long it takes to be there, how the frames fall while it is panned and zoomed, by the browser's own
// timings, and what the server holds in memory. Tells, never judges: the machine may be busy.
import { mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { launched, started, stopped } from "../../tests/journeys/browser.mjs";

const [program] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "gaswright-year-"));
const names = ["nitrogen", "methane", "carbon dioxide", "ethane", "C6+", "propane", "isobutane", "n-butane", "neopentane", "isopentane", "n-pentane"];
const amounts = [1.9, 90.7, 0.9, 4.6, 0.2, 1.1, 0.18, 0.22, 0.01, 0.06, 0.05];

// A counter-based scatter, so that the file is the same every time.
const scatter = (i, k) => {
  const x = Math.sin(i * 12.9898 + k * 78.233) * 43758.5453;
  return x - Math.floor(x) - 0.5;
};

function year(rows) {
  const lines = [
    `run,start,unnormalised_total,${names.map((n) => `mole_percent:${n},u:mole_percent:${n}`).join(",")},gross_cv_volume,u:gross_cv_volume,gross_wobbe,u:gross_wobbe,density,u:density,warnings`,
  ];
  const began = Date.parse("2025-01-01T00:00:00Z");
  for (let i = 0; i < rows; i += 1) {
    const at = new Date(began + i * 240_000).toISOString().replace(".000Z", "Z");
    const day = (2 * Math.PI * i) / 360;
    const cells = amounts.map((x, k) => `${(x * (1 + 0.01 * Math.sin(day + k) + 0.004 * scatter(i, k))).toPrecision(8)},${(0.002 * x).toPrecision(4)}`);
    lines.push(`run_${i}.csv,${at},${(100 + 0.2 * scatter(i, 99)).toPrecision(8)},${cells.join(",")},${(39.4 + 0.1 * Math.sin(day)).toPrecision(9)},0.0141,${(50.1 + 0.1 * Math.sin(day)).toPrecision(9)},0.0138,${(0.7575 + 0.001 * scatter(i, 98)).toPrecision(9)},0.00027,`);
  }
  return `${lines.join("\n")}\n`;
}

const text = year(131_400);
const file = join(folder, "year.csv");
writeFileSync(file, text);
console.log(`a year: 131 400 rows, ${(text.length / 1e6).toFixed(1)} MB`);

const spread = (list) => {
  const sorted = [...list].sort((a, b) => a - b);
  const at = (share) => (sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] ?? 0).toFixed(1);
  return `median ${at(0.5)} ms, 95 % ${at(0.95)} ms, slowest ${at(1)} ms, ${sorted.length} frames`;
};
const held = (server, field) => Number(readFileSync(`/proc/${server.pid}/status`, "utf8").match(new RegExp(`${field}:\\s+(\\d+)`))?.[1] ?? 0) / 1024;

const run = await started(program, ["--store", join(folder, "record.db")]);
const browser = await launched();
try {
  const page = await (await browser.newContext({ viewport: { width: 1366, height: 900 } })).newPage();
  await page.goto(run.address);
  await page.goto(`${new URL(run.address).origin}/analysers`);
  await page.getByRole("button", { name: "Look at a results file" }).waitFor();
  console.log(`server before: ${held(run.server, "VmRSS").toFixed(0)} MB`);
  let began = Date.now();
  await page.locator(".results input[type=file]").setInputFiles(file);
  await page.locator(".results .plot-canvas").waitFor();
  console.log(`uploaded, read and its first column on the screen: ${Date.now() - began} ms`);
  await page.locator(".charted tbody tr").first().waitFor({ timeout: 60_000 });
  console.log(`control charts of all its columns after: ${Date.now() - began} ms`);
  console.log(`server with the year open: ${held(run.server, "VmRSS").toFixed(0)} MB, at most ${held(run.server, "VmHWM").toFixed(0)} MB`);
  began = Date.now();
  await page.getByLabel("What is charted").selectOption("mole_percent:methane");
  await page.getByRole("img", { name: /mole percent: methane/ }).waitFor();
  console.log(`another column: ${Date.now() - began} ms`);

  const canvas = page.locator(".results .plot-canvas");
  await canvas.scrollIntoViewIfNeeded();
  const box = await canvas.boundingBox();
  const frames = async (says, act) => {
    await page.evaluate(() => {
      window.gaps = [];
      window.long = [];
      new PerformanceObserver((list) => window.long.push(...list.getEntries().map((e) => e.duration))).observe({ type: "longtask" });
      let last = performance.now();
      const tick = (now) => {
        window.gaps.push(now - last);
        last = now;
        window.ticking = requestAnimationFrame(tick);
      };
      window.ticking = requestAnimationFrame(tick);
    });
    await act();
    const { gaps, long } = await page.evaluate(() => {
      cancelAnimationFrame(window.ticking);
      return { gaps: window.gaps.slice(2), long: window.long };
    });
    console.log(`${says}: ${spread(gaps)}; ${long.length} tasks over 50 ms${long.length ? `, longest ${Math.max(...long).toFixed(0)} ms` : ""}`);
  };
  const drag = async (steps, dx) => {
    await page.mouse.move(box.x + box.width * 0.7, box.y + 200);
    await page.mouse.down();
    for (let i = 1; i <= steps; i += 1) await page.mouse.move(box.x + box.width * 0.7 - i * dx, box.y + 200);
    await page.mouse.up();
  };
  await page.mouse.move(box.x + box.width / 2, box.y + 200);
  await frames("zoomed in by the wheel", async () => {
    for (let i = 0; i < 60; i += 1) {
      await page.mouse.wheel(0, -60);
      await page.waitForTimeout(8);
    }
  });
  await page.waitForTimeout(400);
  await frames("dragged", async () => {
    for (let k = 0; k < 4; k += 1) await drag(60, 8);
  });
  await canvas.focus();
  await frames("walked by arrow keys", async () => {
    for (let i = 0; i < 60; i += 1) {
      await page.keyboard.press("ArrowLeft");
      await page.waitForTimeout(8);
    }
  });
  await page.keyboard.press("0");
  await page.waitForTimeout(400);
  await frames("dragged, the whole year in view and then a week", async () => {
    for (let i = 0; i < 20; i += 1) await page.mouse.wheel(0, -120);
    await drag(120, 4);
  });
} finally {
  await browser.close();
  await stopped(run.server);
}
