// What is done by hand: hands.mjs PROGRAM SCREENS [PART,PART].
// The leak test timed on the page; a decision on a trace, a retimed programme and a sum kept in a visit; US units in
// sums, visit and histories; and the page under a finger. Every number is held against the program's. Exit code 0
// when all of it held.
import { rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import {
  api,
  begun,
  check,
  launched,
  near,
  numbersIn,
  pictured,
  played,
  sent,
  small,
  stageButton,
  started,
  stepButton,
  stepOf,
  stopped,
  told,
  until,
  violations,
  watched,
} from "./browser.mjs";

const { program, screens, only, folder, store } = begun("hands");
const raised = "\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079";
/** A number as the page writes it, its power of ten too: "(2.1 \u00b1 0.4) \u00d7 10\u207b\u2075". */
function valueIn(text) {
  const first = numbersIn(text)[0];
  const power = text.match(/\u00d7 10(\u207b?)([\u2070\u00b9\u00b2\u00b3\u2074-\u2079]+)/);
  if (!power) return first;
  const digits = [...power[2]].map((c) => raised.indexOf(c)).join("");
  return first * 10 ** Number((power[1] ? "-" : "") + digits);
}

// ---- the leak test, timed here

async function leakTimer(page, at, visit) {
  await page.goto(at(`/visit/${visit}`));
  await stageButton(page, "restore").click();
  await stepButton(page, "carrier and actuation gas on").click();
  await page.getByRole("button", { name: "Hand in what the demonstration recorded" }).click();
  await page.getByText("Recorded: carrier and actuation gas on").first().waitFor();
  await stepButton(page, "tight").click();
  await page.getByText("Time the fall of pressure here").click();
  const field = (label) => page.locator(".leak").getByLabel(label, { exact: true });
  for (const [label, value] of [
    ["Volume shut in, mL", "45"],
    ["its standard uncertainty, mL", "2"],
    ["Pressure at the start, kPa absolute", "412,30"],
    ["Gauge, standard uncertainty, kPa", "0.02"],
    ["Temperature at the start, \u00b0C", "19.40"],
    ["Thermometer, standard uncertainty, \u00b0C", "0.01"],
  ])
    await field(label).fill(value);
  await page.getByRole("button", { name: "Start the wait" }).click();
  await page.getByText(/waited 0:0\d min/).waitFor();
  check(await page.locator(".leak .caution").isVisible(), "leak: the caution stands beside the timer");
  await page.clock.fastForward(60_000);
  await field("Pressure now, kPa absolute").fill("412.18");
  await field("Temperature now, \u00b0C").fill("19.36");
  const results = page.locator(".leak-results > div");
  await results.first().waitFor();
  const read = async () =>
    Object.fromEntries(await results.evaluateAll((list) => list.map((row) => [row.querySelector("dt").innerText, row.querySelector("dd").innerText])));
  // The rate as it stands and what the wait could show so far: both live, and finer as it goes on.
  const waited = async () => {
    const [minutes, seconds] = numbersIn(await page.locator(".leak b").innerText());
    return minutes + seconds / 60;
  };
  const bench = (minutes) =>
    told(program, ["bench", "leak", "--volume", "45 +- 2 mL", "--p1", "412.30 +- 0.02", "--p2", "412.18 +- 0.02", "--t1", "19.40 +- 0.01", "--t2", "19.36 +- 0.01", "--time", String(minutes)]);
  const compare = async (when) => {
    const minutes = await waited();
    const shown = await read();
    const answer = Object.values(bench(minutes).results);
    check(Object.keys(shown).length === answer.length, `leak: ${when}, ${answer.length} results stand`);
    for (const result of answer) {
      const text = shown[result.title];
      // The clock runs on between the two: a second in a minute.
      check(text !== undefined && near(valueIn(text), result.value, 0.08), `leak: ${when}, ${result.title} ${text}, the command says ${result.value}`);
    }
    return answer;
  };
  const early = await compare("after a minute");
  await pictured(page, "leak-timer", screens, () => results.first().waitFor(), { schemes: ["light", "dark"] });
  const keep = page.getByRole("button", { name: "Keep it as the reading" });
  check(await keep.isDisabled(), "leak: while it runs nothing can be kept");
  await page.reload();
  await page.getByText(/waited \d+:\d\d min/).waitFor();
  check((await field("Pressure at the start, kPa absolute").inputValue()) === "412,30", "leak: a reload loses neither the start nor what was typed");
  await page.clock.fastForward(14 * 60_000);
  await until(page, async () => (await waited()) > 14, "the wait goes on");
  await page.getByRole("button", { name: "Stop the wait" }).click();
  await page.waitForTimeout(500);
  const late = await compare("after the wait");
  const finest = (answer) => answer.find((result) => /^least leak this wait shows/.test(result.title));
  check(finest(late).value < 0.3 * finest(early).value, `leak: the longer the wait the finer what could be detected: ${finest(early).value} became ${finest(late).value} ${finest(late).unit}`);
  await keep.click();
  await page.getByText("Recorded: tight").first().waitFor();
  const step = await stepOf(page, visit, "tight");
  const standing = step.evidence.find((each) => each.standing === "current");
  const judged = await api(page, `/api/v1/visits/${visit}/judged`);
  const finding = judged.findings.find((each) => each.id === "leak_rate");
  const rate = late.find((result) => /^leak rate/.test(result.title));
  check(near(finding.value, rate.value, 0.02), `leak: the finding is ${finding.value} ${finding.unit}`);
  const outside = finding.value > finding.high;
  check(step.state === (outside ? "open" : "done"), `leak: the step is ${step.state}, its reading ${finding.value} against ${finding.high}`);
  const file = await page.evaluate(async (path) => (await fetch(path)).json(), `/api/v1/visits/${visit}/evidence/${standing.sha256}`);
  const written = ({ value, u, unit }) => `${value} +- ${u} ${unit}`;
  const again = told(program, ["bench", "leak", ...["volume", "p1", "p2", "t1", "t2", "time"].flatMap((key) => [`--${key}`, written(file[key])])]);
  check(near(again.results.leak_rate.value, finding.value, 1e-9), `leak: the kept file gives the finding again, ${again.results.leak_rate.value}`);
  const shown = told(program, ["visit", "show", visit, "--store", `${store}.invented`]);
  check(shown.findings.find((each) => each.id === "leak_rate").verdict === finding.verdict, `leak: verdict ${finding.verdict}, on the command line too`);
  await stageButton(page, "restore").click();
  await page.locator(".stage-findings li", { hasText: "Leak rate" }).locator(".verdict").first().waitFor();
  const word = await page.locator(".stage-findings li", { hasText: "Leak rate" }).locator(".verdict").first().innerText();
  check(word.trim() === finding.verdict, `leak: the page says ${word.trim()}`);
  await page.locator(".kept", { hasText: "leak_test" }).getByRole("button", { name: "Take back" }).first().click();
  await until(page, async () => (await stepOf(page, visit, "tight")).state === "open", "taken back");
}

// ---- kept in a visit

async function kept(page, at, visit) {
  // A sum: the leak rate, worked out in the workshop and kept as what the step asks for.
  check((await stepOf(page, visit, "tight")).state === "open", "keep: the step is open before");
  await page.goto(at("/sums/leak"));
  for (const [key, value] of Object.entries({ volume: "45", p1: "412.30", p2: "412.29", t1: "19.4", t2: "19.4", time: "60" }))
    await page.locator(`#sum-${key}`).fill(value);
  await page.locator(".sum-results .is-first output").waitFor();
  await page.waitForTimeout(500);
  const dialog = page.getByRole("dialog");
  const record = async (into) => {
    await page.getByRole("button", { name: "Keep it in a visit" }).click();
    await dialog.getByLabel("Visit").selectOption(visit);
    await until(page, async () => (await dialog.getByLabel("Step").inputValue()) === into, `"${into}" stands chosen`);
  };
  await record("tight");
  await dialog.getByText("As the evidence that this step asks for.").waitFor();
  check(true, "keep: the leak test stands chosen by itself, as what it asks for");
  await dialog.getByRole("button", { name: "Record it" }).click();
  await page.getByText('Recorded under "tight".').waitFor();
  check((await stepOf(page, visit, "tight")).state === "done", "keep: the sum settles its step");
  const finding = (await api(page, `/api/v1/visits/${visit}/judged`)).findings.find((each) => each.id === "leak_rate");
  const answer = told(program, ["bench", "leak", "--volume", "45 mL", "--p1", "412.30", "--p2", "412.29", "--t1", "19.4", "--t2", "19.4", "--time", "60"]);
  check(near(finding.value, answer.results.leak_rate.value, 1e-6), `keep: and makes the finding, ${finding.value} ${finding.unit}`);

  // The retimed programme: proposed by the twin, kept as the valve programme as left.
  for (const name of ["restore", "settle"]) await sent(page, `/api/v1/visits/${visit}/demo`, { stage: name });
  check((await stepOf(page, visit, "valve programme")).state === "open", "keep: no programme is kept yet");
  await page.goto(at("/twin"));
  await page.getByRole("button", { name: "Try an example" }).click();
  await page.getByRole("button", { name: "Propose the best times" }).click();
  await page.getByText("Proposed programme").waitFor();
  await page.getByRole("button", { name: "Take the proposal over" }).click();
  const times = await page.locator("input.event-time").evaluateAll((list) => list.map((input) => Number(input.value)));
  await record("valve programme");
  await dialog.getByRole("button", { name: "Record it" }).click();
  await page.getByText('Recorded under "valve programme".').waitFor();
  const programme = await stepOf(page, visit, "valve programme");
  check(programme.state === "done", "keep: the retimed programme settles its step");
  const file = await page.evaluate(async (path) => (await fetch(path)).json(), `/api/v1/visits/${visit}/evidence/${programme.evidence[0].sha256}`);
  check(JSON.stringify(file.valve_programme.map((event) => event.at_s)) === JSON.stringify(times), `keep: the file holds the times that stood on the page, ${times.join(", ")} s`);

  // A decision on a trace: kept beside the run it is about. No step asks for one, and it settles none.
  await sent(page, `/api/v1/visits/${visit}/demo`, { stage: "calibrate" });
  await page.goto(at(`/visit/${visit}`));
  await stageButton(page, "calibrate").click();
  await page.locator(".kept", { has: page.getByRole("button", { name: "Show the run" }) }).first().getByRole("link", { name: /Open in Traces/ }).click();
  await page.getByRole("button", { name: "n-butane" }).click();
  await page.getByRole("button", { name: "Set its ends by hand" }).click();
  const end = page.getByRole("slider", { name: "End of the peak" });
  await end.waitFor();
  await until(page, async () => (await page.locator(".hand-areas dd").nth(1).innerText()) !== "", "the area by hand");
  await end.focus();
  await page.keyboard.press("Shift+ArrowLeft");
  await page.waitForTimeout(400);
  await page.getByLabel("Why", { exact: true }).fill("the tail of neopentane lies under it");
  const before = await stepOf(page, visit, "calibration gas runs");
  await record("calibration gas runs");
  await dialog.getByText("Beside the step: it settles nothing by itself.").waitFor();
  check(true, "keep: the step that keeps the run stands chosen by itself");
  await dialog.getByRole("button", { name: "Record it" }).click();
  await page.getByText('Recorded under "calibration gas runs".').waitFor();
  const after = await stepOf(page, visit, "calibration gas runs");
  const decision = after.evidence.find((each) => each.value === "peak_by_hand.json");
  check(decision?.standing === "remark" && after.evidence.length === before.evidence.length + 1, "keep: the decision is kept beside the run");
  check(after.state === before.state && after.state === "done", "keep: and leaves the step as the runs had settled it");
  const said = await page.evaluate(async (path) => (await fetch(path)).json(), `/api/v1/visits/${visit}/evidence/${decision.sha256}`);
  check(said.schema === "gaswright.hand-peak/1" && JSON.stringify(said).includes("the tail of neopentane"), "keep: with its reason");
}

// ---- US units

async function units(page, at, visit) {
  const btu = (1e6 / 1055.05585262) * 0.3048 ** 3; // exact by definition
  const clear = () => page.evaluate(() => localStorage.removeItem("gaswright.sum.leak"));
  const system = async (name) => {
    await page.goto(at("/settings"));
    await page.getByText(name).click();
  };
  await system("SI: MJ");
  await page.goto(at("/sums/carrier"));
  const labels = async () => page.locator(".sum-fields select, select").evaluateAll((list) => list.map((each) => each.value));
  await page.locator("select").first().waitFor();
  const si = await labels();
  await page.goto(at(`/visit/${visit}`));
  await page.getByRole("option").first().waitFor();
  const spoken = () => page.getByRole("option").evaluateAll((list) => list.map((each) => each.getAttribute("aria-label")));
  await until(page, async () => (await spoken()).some((text) => /MJ/.test(text)), "values in MJ/m3");
  const metric = await spoken();
  await stageButton(page, "settle").click();
  const panel = page.locator(".settling-panel").first();
  await panel.locator(".level text").first().waitFor();
  const celsius = await panel.locator(".level text").allTextContents();
  check(celsius.some((text) => text.includes("\u00b0C")), "units: the oven settles in \u00b0C");

  await clear();
  await system("US: Btu");
  await page.goto(at("/sums/carrier"));
  await page.locator("select").first().waitFor();
  const us = await labels();
  check(us.includes("psi") && !si.includes("psi"), `units: pressures of a sum are asked for in psi (${us.join(", ")})`);
  await page.goto(at("/sums/leak"));
  await page.locator("#sum-p1").waitFor();
  const unit = (what) => page.getByRole("combobox", { name: new RegExp(`unit of ${what}`) });
  check((await unit("pressure at the start").inputValue()) === "psi", "units: the leak test is asked for in psi");
  for (const [key, value] of Object.entries({ volume: "50", p1: "58", p2: "57.99", t1: "70", t2: "70", time: "30" })) await page.locator(`#sum-${key}`).fill(value);
  const first = page.locator(".sum-results .is-first output");
  await first.waitFor();
  await page.waitForTimeout(600);
  const volume = (await page.getByRole("combobox", { name: /unit of volume/ }).inputValue().catch(() => "mL")) || "mL";
  const shownUnit = await page.locator(".sum-results .is-first").getByRole("combobox").inputValue();
  const answer = told(program, ["bench", "leak", "--volume", `50 ${volume}`, "--p1", "58 psi", "--p2", "57.99 psi", "--t1", "70 degF", "--t2", "70 degF", "--time", "30 min", "--show", `leak_rate=${shownUnit}`]);
  check(near(valueIn(await first.innerText()), answer.results.leak_rate.value, 0.01), `units: ${await first.innerText()} ${shownUnit}, the command says ${answer.results.leak_rate.value}`);
  await pictured(page, "us-sum", screens, () => first.waitFor(), { schemes: ["light", "dark"] });

  await page.goto(at(`/visit/${visit}`));
  await page.getByRole("option").first().waitFor();
  await until(page, async () => (await spoken()).some((text) => /Btu/.test(text)), "values in Btu/ft3");
  const imperial = await spoken();
  let compared = 0;
  for (const [i, text] of imperial.entries()) {
    const own = metric[i].match(/calorific value ([\d.]+)/);
    const other = text.match(/calorific value ([\d.]+)/);
    if (!own || !other) continue;
    if (!near(Number(other[1]), Number(own[1]) * btu, 2e-4)) throw new Error(`${metric[i]} became ${text}`);
    compared += 1;
  }
  check(compared === metric.length && compared > 20, `units: ${compared} runs, each calorific value turned into Btu/ft\u00b3`);
  await stageButton(page, "settle").click();
  await panel.locator(".level text").first().waitFor();
  const fahrenheit = await panel.locator(".level text").allTextContents();
  check(fahrenheit.some((text) => text.includes("\u00b0F")) && !fahrenheit.some((text) => text.includes("\u00b0C")), `units: the oven settles in \u00b0F (${fahrenheit.filter((t) => /F/.test(t)).join(", ")})`);
  const sheet = page.locator("section", { has: page.locator("#settling-title") });
  await sheet.getByText("The same in numbers").click();
  const oven = await sheet.locator("tbody tr").first().locator("td").allInnerTexts();
  check(numbersIn(oven[3])[0] === 0.09, `units: its limit of 0.05 \u00b0C is a difference of ${oven[3]}, without the zero of the scale`);
  check(Math.abs(numbersIn(oven[4])[0] - 176) < 0.5, `units: it ends at ${oven[4]}`);
  await pictured(page, "us-visit", screens, () => sheet.locator("tbody tr").first().waitFor(), { schemes: ["light", "dark"] });

  await page.goto(at("/analysers"));
  // A table of one's own: temperatures and pressures over two months.
  const csv = join(folder, "readings.csv");
  const days = Array.from({ length: 60 }, (_, i) => i);
  const row = (i) => `${new Date(Date.UTC(2026, 2, 1 + i, 8)).toISOString()},${(80 + 0.03 * Math.sin(7 * i)).toFixed(3)},${(350 + Math.cos(5 * i)).toFixed(2)}`;
  writeFileSync(csv, `time,oven_c,cv\n${days.map(row).join("\n")}\n`);
  await page.locator(".results input[type=file]").setInputFiles(csv);
  await page.getByLabel("What is charted").selectOption("oven_c");
  await page.locator(".charted tbody tr").first().waitFor();
  const chart = told(program, ["chart", csv]).charts.find((each) => each.name === "oven_c");
  const rows = await page.locator(".charted tbody tr").evaluateAll((list) => list.map((row) => [...row.cells].map((cell) => cell.innerText)));
  for (const [i, stretch] of chart.stretches.entries())
    check(/\u00b0F/.test(rows[i][4]) && near(numbersIn(rows[i][4])[0], stretch.centre * 1.8 + 32, 1e-4), `units: the oven's centre is ${rows[i][4]}, ${stretch.centre} \u00b0C by the command`);
  check(/\u00b0F/.test(rows[0][5]), `units: and so are the limits, ${rows[0][5]}`);
  await pictured(page, "us-history", screens, () => page.locator(".charted tbody tr").first().waitFor(), { schemes: ["light", "dark"] });
  await system("SI: MJ");
}

// ---- under a finger

async function touch(browser, address, at) {
  const context = await browser.newContext({ viewport: { width: 1024, height: 768 }, hasTouch: true, storageState: await address.state() });
  const page = await context.newPage();
  page.setDefaultTimeout(20_000);
  const seen = watched(page, at("/"));
  const made = await sent(address.page, "/api/v1/visits", { plan: "routine_proving", analyser: "PX-9" });
  const visit = made.data.visit;
  await page.goto(at(`/visit/${visit}`));
  await page.locator("#now-title").waitFor();
  const points = await page.evaluate(() => navigator.maxTouchPoints);
  check(points > 0, "touch: the device has a touch screen");
  const step = (await api(page, `/api/v1/visits/${visit}`)).now.step;
  check((await page.locator(".step[aria-current]").innerText()).includes(step), `touch: the card shows what is to be done now, "${step}"`);
  await page.getByLabel("What was seen or done").tap();
  await page.keyboard.type("looked at by finger");
  await page.getByRole("button", { name: "Record", exact: true }).tap();
  await page.getByText(`Recorded: ${step}`).first().waitFor();
  check((await stepOf(page, visit, step)).state === "done", "touch: recorded by a tap");
  const reading = (await api(page, `/api/v1/visits/${visit}`)).stages.flatMap((stage) => stage.steps.map((one) => ({ stage, one }))).find(({ one }) => one.wants === "reading" && one.state === "open" && one.waits_for.length === 0);
  await stageButton(page, reading.stage.name).tap();
  await stepButton(page, reading.one.name).tap();
  await page.getByLabel("Reading").tap();
  const value = reading.one.high ?? reading.one.low ?? 1;
  await page.keyboard.type(String(value));
  await page.getByRole("button", { name: "Record", exact: true }).tap();
  await page.getByText(`Recorded: ${reading.one.name}`).first().waitFor();
  const evidence = (await stepOf(page, visit, reading.one.name)).evidence.at(-1);
  check(Number(evidence.value) === value, `touch: a reading typed and tapped in, ${evidence.value} ${evidence.unit}`);
  check((await small(page)).length === 0, `touch: everything is as large as a thumb ${(await small(page)).join("; ")}`);
  await page.screenshot({ path: `${screens}/touch-visit.png` });

  await page.goto(at("/twin"));
  await page.getByRole("button", { name: "Try an example" }).tap();
  const back = page.getByRole("slider", { name: "turn heavy guard back" });
  await back.waitFor();
  await until(page, async () => (await page.locator(".twin-below tbody tr").count()) > 0, "the twin has answered");
  await back.scrollIntoViewIfNeeded();
  const box = await back.boundingBox();
  const was = Number(await back.getAttribute("aria-valuenow"));
  // A finger, not a mouse: the browser's own touch events.
  const cdp = await context.newCDPSession(page);
  const finger = (type, x, y) => cdp.send("Input.dispatchTouchEvent", { type, touchPoints: type === "touchEnd" ? [] : [{ x, y }] });
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await finger("touchStart", x, y);
  for (let i = 1; i <= 40; i += 1) {
    await finger("touchMove", x + 3 * i, y);
    await page.waitForTimeout(10);
  }
  await finger("touchEnd");
  await until(page, async () => Number(await back.getAttribute("aria-valuenow")) > was + 10, "the event follows the finger");
  const now = Number(await back.getAttribute("aria-valuenow"));
  check(true, `touch: dragged by finger from ${was} to ${now} s`);
  await until(page, async () => (await page.locator(".twin-below td").allInnerTexts()).some((text) => text.includes("worse")), "a peak pays for it");
  check(true, "touch: and the twin says what it costs");
  check((await page.evaluate(() => scrollX)) === 0, "touch: the page did not slide away under it");
  await page.screenshot({ path: `${screens}/touch-twin.png`, fullPage: true });
  await page.getByRole("button", { name: "Undo the last move" }).tap();
  await until(page, async () => Number(await back.getAttribute("aria-valuenow")) === was, "taken back by a tap");
  const found = await violations(page);
  check(found.length === 0, `touch: axe finds nothing ${found.join(" | ")}`);
  check((await small(page)).length === 0, `touch: everything is as large as a thumb ${(await small(page)).join("; ")}`);
  check(seen.foreign.length === 0 && seen.complaints.length === 0, `touch: nothing foreign, no complaint ${seen.complaints}`);
  await context.close();
}

const { server, address } = await started(program, ["--store", store, "--by", "A. Person"]);
const origin = new URL(address).origin;
const browser = await launched();
let code = 0;
let page = null;
try {
  const context = await browser.newContext({ viewport: { width: 1366, height: 900 } });
  page = await context.newPage();
  page.setDefaultTimeout(20_000);
  await page.clock.install();
  const seen = watched(page, address);
  await page.goto(address);
  await page.waitForURL((url) => !url.search.includes("ticket"));
  const at = (path) => `${origin}${path}`;
  const wanted = (name) => only === null || only.includes(name);
  const visit = await played(page, "exchange");
  if (wanted("leak")) await leakTimer(page, at, visit);
  if (wanted("keep")) {
    await sent(page, `/api/v1/visits/${visit}/demo`, { step: "carrier and actuation gas on" });
    await kept(page, at, visit);
  }
  for (const { name } of (await api(page, `/api/v1/visits/${visit}`)).stages) await sent(page, `/api/v1/visits/${visit}/demo`, { stage: name });
  if (wanted("units")) await units(page, at, visit);
  if (wanted("touch")) await touch(browser, { page, state: () => context.storageState() }, at);
  check(seen.foreign.length === 0, `nothing outside was asked for ${seen.foreign}`);
  check(seen.complaints.length === 0, `the browser has no complaint ${seen.complaints.join("; ")}`);
} catch (fault) {
  console.error(`FAIL  ${fault.message}`);
  for (const context of browser.contexts())
    for (const each of context.pages()) await each.screenshot({ path: `${screens}/failed.png`, fullPage: true }).catch(() => {});
  code = 1;
} finally {
  await browser.close();
  if ((await stopped(server)) !== 0) code = 1;
  rmSync(folder, { recursive: true, force: true });
}
process.exit(code);
