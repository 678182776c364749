// Look, sums, trace, twin and analysers as a technician meets them: workbench.mjs PROGRAM SCREENS.
// Every number that is read off the page is held against the command line's answer to the same question.
import { mkdirSync, mkdtempSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { execFileSync } from "node:child_process";
import { check, launched, pictured, started, stopped, told, watched } from "./browser.mjs";

const [program, screens] = process.argv.slice(2);
const only = process.argv[4] ?? "";
mkdirSync(screens, { recursive: true });
const folder = mkdtempSync(join(tmpdir(), "gaswright-workbench-"));
const store = join(folder, "record.db");
const file = (name) => join(folder, name);

const raised = "\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079";
/** The first number of a text as the page writes numbers: "\u22120.35 %", "(1.1 \u00b1 0.2) \u00d7 10\u207b\u2075". */
function numberIn(text) {
  const plain = text.replaceAll("\u2212", "-");
  const first = Number(plain.match(/-?\d+(\.\d+)?(e[+-]?\d+)?/)?.[0] ?? "NaN");
  const power = plain.match(/\u00d7 10(\u207b?)([\u2070\u00b9\u00b2\u00b3\u2074-\u2079]+)/);
  if (!power) return first;
  const digits = [...power[2]].map((c) => raised.indexOf(c)).join("");
  return first * 10 ** Number((power[1] ? "-" : "") + digits);
}
/** Waits until a function of the page says so. The page's policy forbids the browser tool's own way to wait. */
async function until(page, holds, given) {
  const end = Date.now() + 20_000;
  while (!(await page.evaluate(holds, given))) {
    if (Date.now() > end) throw new Error(`waited in vain for ${holds}`);
    await page.waitForTimeout(20);
  }
}
const near = (a, b, share = 1e-3) => Math.abs(a - b) <= share * Math.max(Math.abs(a), Math.abs(b), 1e-12);

async function examples(page) {
  const { data } = await page.evaluate(() => fetch("/api/v1/examples").then((reply) => reply.json()));
  for (const { name } of data.examples) {
    const reply = await page.evaluate((one) => fetch(`/api/v1/examples/${one}`).then((r) => r.json()), name);
    writeFileSync(file(name), reply.data.text);
  }
}

/** A visit to PX-7, the same for every part of the walk. */
let visitId = "";
async function opened(page) {
  if (visitId !== "") return visitId;
  const reply = await page.evaluate(() =>
    fetch("/api/v1/visits", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ plan: "exchange", analyser: "PX-7" }) }).then((r) => r.json()),
  );
  visitId = reply.data.visit;
  return visitId;
}

async function look(page, at) {
  await page.goto(at("/look"));
  await page.getByRole("button", { name: "Try an example" }).click();
  await page.getByText(/suspects, strongest first/).waitFor();
  const answer = told(program, ["look", file("printed_report.csv")]);
  const titles = await page.locator(".look-suspects h3").allInnerTexts();
  check(
    titles.join("|") === answer.suspects.map((s) => s.title).join("|") && titles.length === 3,
    "look: the suspects are those of the command",
  );
  const rows = page.locator(".finding-list li");
  check((await rows.count()) === answer.findings.length, "look: so are the findings");
  for (const [i, finding] of answer.findings.entries()) {
    const text = await rows.nth(i).locator(".finding-value b").innerText();
    if (finding.value === null) check(text === "no value", `look: ${finding.id} has no value`);
    else check(near(numberIn(text), finding.value), `look: ${finding.id} is ${text}, the command says ${finding.value}`);
  }
  await pictured(page, "look", screens, () => page.getByText(/suspects, strongest first/).waitFor());

  const area = page.getByRole("textbox", { name: /The report/ });
  await area.fill("component;mole_percent\nmethane;88.o\nunobtainium;1\nethane;5\npropane;7\n");
  await page.getByRole("button", { name: "Look at it" }).click();
  await page.getByRole("button", { name: "Line 3" }).waitFor();
  check(await page.getByRole("button", { name: "Line 2" }).isVisible(), "look: every line at fault is told at once");
  check((await page.locator(".lines-gutter .is-wrong").count()) === 2, "look: and marked in the margin");
  await page.getByRole("button", { name: "Line 3" }).click();
  const chosen = await area.evaluate((e) => e.value.slice(e.selectionStart, e.selectionEnd));
  check(chosen === "unobtainium;1", "look: the line at fault is gone to");
  await pictured(page, "look-faults", screens, () => page.getByRole("button", { name: "Line 3" }).waitFor(), { schemes: ["light"] });

  await page.getByText("Type in", { exact: true }).click();
  await page.getByRole("textbox", { name: "Row 1, Component" }).fill("methane");
  await page.getByRole("textbox", { name: "Row 1, mol%" }).fill("90,x");
  await page.getByRole("textbox", { name: "Row 2, Component" }).fill("ethane");
  await page.getByRole("textbox", { name: "Row 2, mol%" }).fill("10");
  await page.getByRole("button", { name: "Look at it" }).click();
  await page.locator(".cell-fault").waitFor();
  const wrong = page.getByRole("textbox", { name: "Row 1, mol%" });
  check((await wrong.getAttribute("aria-invalid")) === "true", "look: in the table the cell itself is pointed at");
  await pictured(page, "look-table", screens, () => page.locator(".cell-fault").waitFor(), { schemes: ["light", "dark"] });
  await wrong.fill("90");
  await page.getByRole("button", { name: "Look at it" }).click();
  await page.locator(".finding-list li").first().waitFor();
  check(true, "look: once mended it is answered");
  await page.reload();
  check((await page.getByRole("textbox", { name: "Row 2, Component" }).inputValue()) === "ethane", "look: what was typed survives a reload");
}

async function sums(page, at) {
  await page.goto(at("/sums"));
  await page.getByRole("link", { name: /Leak rate/ }).waitFor();
  await pictured(page, "sums", screens, () => page.getByRole("link", { name: /Leak rate/ }).waitFor(), { schemes: ["light", "dark"] });
  await page.getByRole("link", { name: /Leak rate/ }).click();
  const field = (key) => page.locator(`#sum-${key}`);
  for (const [key, value] of Object.entries({ volume: "50", p1: "400", p2: "399,9", t1: "21", t2: "20.9", time: "30", limit: "0.0001" }))
    await field(key).fill(value);
  await page.locator(".sum-u").first().fill("0.5");
  await page.locator(".sum-results .is-first output").waitFor();
  const options = ["--volume", "50 +- 0.5 mL", "--p1", "400", "--p2", "399.9", "--t1", "21", "--t2", "20.9", "--time", "30", "--limit", "0.0001"];
  const answer = told(program, ["bench", "leak", ...options]);
  const shown = await page.locator(".sum-results > div").evaluateAll((rows) => rows.map((row) => [row.querySelector("dt").innerText, row.querySelector("output").innerText]));
  check(shown.length === Object.keys(answer.results).length, "sums: as many results as the command gives");
  for (const [i, [title, text]] of shown.entries()) {
    const result = Object.values(answer.results)[i];
    check(title === result.title && near(numberIn(text), result.value, 0.06), `sums: ${title} is ${text}, the command says ${result.value}`);
  }
  const first = page.locator(".sum-results .is-first");
  await first.getByRole("combobox").selectOption("Pa m3/s");
  const other = told(program, ["bench", "leak", ...options, "--show", "leak_rate=Pa m3/s"]);
  await page.waitForTimeout(500);
  check(near(numberIn(await first.locator("output").innerText()), other.results.leak_rate.value, 0.06), "sums: the unit of a result is switched by the program");
  await page.getByRole("combobox", { name: /unit of pressure at the start/ }).selectOption("bar");
  check((await field("p1").inputValue()) === "4", "sums: the unit of an input is switched with its number");
  await pictured(page, "sum-leak", screens, () => page.locator(".sum-results .is-first output").waitFor());

  await field("time").fill("0");
  await page.locator("#sum-time-wrong").waitFor();
  check((await field("time").getAttribute("aria-invalid")) === "true", "sums: a refusal stands beside its field");
  await field("time").fill("half an hour");
  await page.getByText("This is no number.").waitFor();
  await pictured(page, "sum-refused", screens, () => page.getByText("This is no number.").waitFor(), { schemes: ["light"] });
  await field("time").fill("30");
  await page.locator(".sum-results .is-first output").waitFor();

  // Kept in a visit, seen in its record, taken back.
  const visit = await opened(page);
  await page.getByRole("button", { name: "Keep it in a visit" }).click();
  const dialog = page.getByRole("dialog");
  await dialog.getByLabel("Step").selectOption("reason");
  await pictured(page, "keep", screens, () => dialog.waitFor(), { schemes: ["light", "dark"] });
  await dialog.getByRole("button", { name: "Record it" }).click();
  await page.getByText(/Recorded under "reason"/).waitFor();
  const evidence = async () => {
    const standing = await page.evaluate((id) => fetch(`/api/v1/visits/${id}`).then((r) => r.json()), visit);
    return standing.data.stages.flatMap((s) => s.steps).find((s) => s.name === "reason").evidence;
  };
  const kept = await evidence();
  check(kept.length === 1 && kept[0].value === "sum_leak.json" && /leak rate/.test(kept[0].note ?? ""), "sums: the file and its sentence are in the record");
  await page.getByRole("button", { name: "Undo" }).click();
  await page.getByText("Taken back; the record keeps both.").waitFor();
  check((await evidence())[0].standing === "withdrawn", "sums: and taken back it stays in the record, out of force");
}

async function trace(page, at) {
  await page.goto(at("/trace"));
  await page.getByRole("button", { name: "Try an example" }).click();
  await page.getByText("over it").waitFor();
  await page.getByRole("button", { name: "methane" }).waitFor();
  const answer = told(program, ["trace", "peaks", file("line_gas_as_left.csv"), "--method", file("method.json")]);
  const rows = await page.locator(".peaks tbody tr").evaluateAll((list) => list.map((row) => [...row.cells].map((cell) => cell.innerText.trim())));
  check(rows.length === answer.peaks.length, `trace: ${rows.length} peaks, as the command finds`);
  for (const [i, row] of rows.entries()) {
    const peak = answer.peaks[i];
    check(row[0] === peak.component && near(numberIn(row[4]), peak.area) && near(numberIn(row[2]), peak.apex_s), `trace: ${row[0]} ${row[4]} at ${row[2]}`);
  }
  const ready = () => page.getByRole("button", { name: "methane" }).waitFor();
  await pictured(page, "trace", screens, ready);

  const plot = page.getByRole("img", { name: /^Trace / });
  const box = await plot.boundingBox();
  await page.mouse.move(box.x + box.width / 2, box.y + 100);
  await until(page, () => /above the baseline/.test(document.querySelector(".readout").textContent));
  check(true, "trace: the pointer is read out");
  await plot.focus();
  await page.keyboard.press("+");
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("0");

  await page.getByRole("button", { name: "n-butane" }).click();
  await page.getByRole("button", { name: "Set its ends by hand" }).click();
  const end = page.getByRole("slider", { name: "End of the peak" });
  await end.waitFor();
  await until(page, () => document.querySelectorAll(".hand-areas dd")[1].textContent !== "");
  const before = await page.locator(".hand-areas dd").nth(1).innerText();
  await end.focus();
  for (let i = 0; i < 5; i += 1) await page.keyboard.press("Shift+ArrowLeft");
  await until(page, (was) => document.querySelectorAll(".hand-areas dd")[1].textContent !== was, before);
  await page.waitForTimeout(300);
  const byHand = numberIn(await page.locator(".hand-areas dd").nth(1).innerText());
  const own = answer.peaks.find((peak) => peak.component === "n-butane");
  check(byHand < numberIn(before), `trace: moved by keyboard, the area falls from ${before} to ${byHand}`);
  const held = await page.evaluate(
    async ({ from, to }) => {
      const id = new URLSearchParams(location.search).get("id");
      const levels = [...document.querySelectorAll(".hand .fields input")].map((e) => Number(e.value));
      const body = JSON.stringify({ detector: 1, start_s: from, end_s: to, base_start: levels[2], base_end: levels[3] });
      const reply = await fetch(`/api/v1/traces/${id}/hand`, { method: "POST", headers: { "Content-Type": "application/json" }, body });
      return (await reply.json()).data.area;
    },
    { from: own.start_s, to: own.end_s - 50 * (answer.peaks.length ? 0.04 : 0) },
  );
  check(near(held, byHand, 2e-3), `trace: the program says the same, ${held}`);
  // By finger: the baseline's end, pulled up.
  const knob = page.getByRole("slider", { name: "Baseline at the end" });
  const at0 = await knob.boundingBox();
  await page.mouse.move(at0.x + 22, at0.y + 22);
  await page.mouse.down();
  await page.mouse.move(at0.x + 22, at0.y - 30, { steps: 5 });
  await page.mouse.up();
  await page.waitForTimeout(300);
  check(numberIn(await page.locator(".hand-areas dd").nth(1).innerText()) < byHand, "trace: a baseline pulled up takes area away");
  await page.getByRole("button", { name: "Keep this decision" }).click();
  await page.getByText("A reason is needed").waitFor();
  await page.getByLabel("Why", { exact: true }).fill("cut by the next valve <script>alert(1)</script>");
  await pictured(page, "trace-hand", screens, () => end.waitFor());
  await page.getByRole("button", { name: "Keep this decision" }).click();
  await page.getByText("n-butane is kept by hand.").waitFor();
  check((await page.locator(".peaks tbody tr", { hasText: "n-butane" }).innerText()).includes("by hand"), "trace: the table says that a person decided");
  await page.reload();
  await page.getByRole("button", { name: "n-butane" }).waitFor();
  check((await page.locator(".peaks tbody tr", { hasText: "n-butane" }).innerText()).includes("by hand"), "trace: and still does after a reload");
  await page.getByRole("button", { name: "n-butane" }).click();
  await page.getByRole("button", { name: "Undo" }).click();
  await page.getByText("The peak is as it was found.").waitFor();
  check(!(await page.locator(".peaks tbody tr", { hasText: "n-butane" }).innerText()).includes("by hand"), "trace: and it can be taken back");
  for (const form of ["Samples, CSV", "Figure, SVG", "Figure, PNG"]) {
    const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name: form }).click()]);
    check((await download.failure()) === null, `trace: ${form} is taken away`);
  }
  // A run that a visit keeps.
  const visit = await opened(page);
  const stored = await page.evaluate(
    async ({ id, text }) => {
      const where = "stage=as%20found&step=calibration%20gas%20as%20found&as=aside&name=kept.csv";
      const reply = await fetch(`/api/v1/visits/${id}/file?${where}`, { method: "POST", headers: { "Content-Type": "application/octet-stream" }, body: text });
      return reply.status;
    },
    { id: visit, text: readFileSync(file("line_gas_as_found.csv"), "utf8") },
  );
  check(stored === 200, "trace: a run is kept in a visit");
  await page.getByRole("button", { name: "From a visit" }).click();
  await pictured(page, "trace-from-visit", screens, () => page.getByRole("button", { name: /kept.csv/ }).waitFor(), { schemes: ["light"] });
  await page.getByRole("button", { name: /kept.csv/ }).click();
  const other = told(program, ["trace", "peaks", file("line_gas_as_found.csv")]);
  await until(page, (n) => document.querySelectorAll(".peaks tbody tr").length === n, other.peaks.length);
  check(true, "trace: and opened again from there");

  // Hostile: nothing of what is shown changes.
  const rowsBefore = await page.locator(".peaks tbody tr").count();
  writeFileSync(file("picture.csv"), Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0]));
  await page.locator("input[type=file]").first().setInputFiles(file("picture.csv"));
  await page.getByRole("alert").first().waitFor();
  check((await page.locator(".peaks tbody tr").count()) === rowsBefore, `trace: a picture is refused, ${await page.getByRole("alert").first().innerText()}`);
}

async function twin(page, at) {
  await page.goto(at("/twin"));
  await page.getByRole("button", { name: "Try an example" }).click();
  const back = page.getByRole("slider", { name: "turn light guard back" });
  await back.waitFor();
  await page.getByText(/What each peak loses/).waitFor();
  await until(page, () => document.querySelectorAll(".twin-below tbody tr").length > 0);
  // A peak that is gone has words instead of numbers.
  const worst = () =>
    page
      .locator(".twin-below tbody tr")
      .evaluateAll((rows) =>
        Math.max(
          ...rows.flatMap((row) => [2, 3].map((i) => Number(row.cells[i]?.innerText.match(/\d+(\.\d+)?/)?.[0] ?? 0))),
        ),
      );
  const sound = await worst();
  await back.focus();
  for (let i = 0; i < 20; i += 1) await page.keyboard.press("ArrowLeft");
  await until(page, () => [...document.querySelectorAll(".twin-below td")].some((td) => td.innerText.includes("worse")));
  check((await worst()) > sound, `twin: an event moved by keyboard costs a peak (${await worst()} % after ${sound} %)`);
  await pictured(page, "twin-moved", screens, () => page.getByText("\u25c6 worse").first().waitFor());
  // By finger, on the screen.
  await page.setViewportSize({ width: 1366, height: 900 });
  const knob = await back.boundingBox();
  await page.mouse.move(knob.x + 22, knob.y + 30);
  await page.mouse.down();
  for (let i = 1; i <= 60; i += 1) {
    await page.mouse.move(knob.x + 22 + 3 * i, knob.y + 30);
    await page.waitForTimeout(8);
  }
  await page.mouse.up();
  await page.waitForTimeout(200);
  const moved = numberIn((await back.getAttribute("aria-valuetext")) ?? "");
  check(moved > 10, `twin: and by finger, to ${moved} s`);
  const took = await page.evaluate(() => performance.getEntriesByName("twin answered").map((e) => e.duration).sort((a, b) => a - b));
  console.log(`      ${took.length} answers while it moved: median ${took[took.length >> 1].toFixed(1)} ms, slowest ${took.at(-1).toFixed(1)} ms`);
  await page.getByRole("button", { name: "As in the method" }).click();
  await page.getByRole("button", { name: "Propose the best times" }).click();
  await page.getByText("Proposed programme").waitFor();
  const answer = told(program, ["oven", "retime", file("method.json"), "--gas", file("line_gas.json")]);
  await page.getByRole("button", { name: "Take the proposal over" }).click();
  for (const event of answer.programme.filter((e) => e.limited_by !== "zero of time")) {
    const says = await page.getByRole("slider", { name: event.action, exact: true }).getAttribute("aria-valuenow");
    check(near(Number(says), event.at_s, 1e-9), `twin: ${event.action} at ${says} s, as the command proposes`);
  }
  const sentences = await page.locator(".proposal-says li").allInnerTexts();
  check(sentences.join("|") === answer.programme.map((e) => e.sentence).join("|"), "twin: in the same words");
  const typed = await page.locator("section[aria-labelledby=proposal] tbody tr").count();
  check(typed === answer.enter.peaks.length + answer.enter.inhibits.length, "twin: every value to type in is there");
  await pictured(page, "twin", screens, () => page.getByText("Proposed programme").waitFor());
  await page.getByRole("button", { name: "Undo the last move" }).click();
  check(numberIn((await back.getAttribute("aria-valuetext")) ?? "") === 5.4, "twin: the last move is taken back");
}

async function analysers(page, at) {
  await page.goto(at("/analysers"));
  await page.getByText("No cylinder is recorded.").waitFor();
  execFileSync(program, ["cylinder", "add", file("calibration_gas.json"), "--store", store, "--by", "A. Person"]);
  await page.getByText("HM-7714").first().waitFor();
  check(true, "analysers: what another program records appears by itself");
  const day = new Date().toISOString().slice(0, 10);
  const answer = told(program, ["cylinder", "check", file("calibration_gas.json"), "--on", day]);
  const days = answer.findings.find((f) => f.id === "expiry").value;
  const text = await page.locator(".standing li").first().locator("b").innerText();
  check(near(numberIn(text), days), `analysers: ${text} left, the command says ${days}`);
  await page.getByRole("button", { name: "Try an example" }).click();
  await page.getByText("oven module exchanged").first().waitFor();
  const charts = told(program, ["chart", file("weekly_checks.csv")]);
  await page.getByLabel("What is charted").selectOption("factor:ethane");
  await until(page, () => document.querySelectorAll(".charted tbody tr").length === 2);
  const chart = charts.charts.find((c) => c.name === "factor:ethane");
  const rows = await page.locator(".charted tbody tr").evaluateAll((list) => list.map((row) => [...row.cells].map((cell) => cell.innerText)));
  for (const [i, stretch] of chart.stretches.entries()) {
    check(near(numberIn(rows[i][4]), stretch.centre, 1e-3), `analysers: centre ${rows[i][4]}, the command says ${stretch.centre}`);
    check(Number(rows[i][3]) === stretch.n, `analysers: ${rows[i][3]} readings`);
  }
  check(/drifting/.test(rows[0][6]) && /in control/.test(rows[1][6]), "analysers: drifting before the exchange, in control after it");
  await pictured(page, "analysers", screens, () => page.locator(".charted tbody tr").first().waitFor());
  writeFileSync(file("nonsense.csv"), "time,total\n2026-01-02T00:00:00Z,1\n2026-01-01T00:00:00Z,2\n");
  await page.locator(".results input[type=file]").setInputFiles(file("nonsense.csv"));
  await page.getByRole("alert").first().waitFor();
  check((await page.locator(".charted tbody tr").count()) === 2, `analysers: a wrong file is refused, ${await page.getByRole("alert").first().innerText()}`);
  // The invented exchange, from the record: what its visit found and left.
  execFileSync(program, ["demo", "--record", "--store", store]);
  const { visits } = told(program, ["visit", "list", "--store", store]);
  const exchange = visits.find((v) => v.analyser !== "PX-7");
  const shown = told(program, ["visit", "show", exchange.visit, "--store", store]);
  await page.goto(at(`/analysers/${encodeURIComponent(exchange.analyser)}`));
  await page.locator(".readings tr").first().waitFor();
  const readings = await page.locator(".readings td").allInnerTexts();
  for (const [i, basis] of ["as_found", "as_left"].entries()) {
    const finding = shown.findings.find((f) => f.id === "cv_bias" && f.basis === basis);
    check(near(numberIn(readings[i]), finding.value, 2e-3), `analysers: the bias ${basis} is ${readings[i]}, its visit says ${finding.value}`);
  }
  await pictured(page, "analyser-history", screens, () => page.locator(".readings tr").first().waitFor());
  await page.goto(at("/analysers"));
  await page.getByText("proving gas").first().waitFor();
  await pictured(page, "register", screens, () => page.getByText("proving gas").first().waitFor(), { schemes: ["light", "dark"] });

  await opened(page);
  await page.goto(at("/analysers/PX-7"));
  await page.getByText("No visit has established a number yet.").waitFor();
  check(await page.getByRole("link", { name: /^PX-7-/ }).isVisible(), "analysers: one analyser leads on to its visits");
  await pictured(page, "analyser", screens, () => page.getByText("No visit has established a number yet.").waitFor(), { schemes: ["light"] });
}

const run = await started(program, ["--store", store, "--by", "A. Person"]);
const origin = new URL(run.address).origin;
const browser = await launched();
let code = 0;
try {
  const page = await (await browser.newContext({ viewport: { width: 1366, height: 900 }, acceptDownloads: true })).newPage();
  page.setDefaultTimeout(20_000);
  const seen = watched(page, run.address);
  await page.goto(run.address);
  await page.waitForURL((url) => !url.search.includes("ticket"));
  await examples(page);
  const at = (path) => `${origin}${path}`;
  for (const [name, walk] of Object.entries({ look, sums, trace, twin, analysers }))
    if (only === "" || only.split(",").includes(name)) await walk(page, at);
  check(seen.foreign.length === 0, `nothing outside was asked for ${seen.foreign}`);
  check(seen.complaints.length === 0, `the browser has no complaint ${seen.complaints.join("; ")}`);
} catch (fault) {
  console.error(`FAIL  ${fault.message}`);
  code = 1;
  for (const context of browser.contexts())
    for (const page of context.pages()) await page.screenshot({ path: `${screens}/failed.png`, fullPage: true }).catch(() => {});
} finally {
  await browser.close();
  if ((await stopped(run.server)) !== 0) code = 1;
}
process.exit(code);
