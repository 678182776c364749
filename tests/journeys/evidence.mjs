// Pictures of evidence, and what stands around them: evidence.mjs PROGRAM SCREENS [PART,PART].
// What settles and its forecast, the factors one by one, a run opened in Traces and back, the pressure of a cylinder,
// the twin fitted to kept runs. Every number is held against the command line or the API. Exit code 0 when all held.
import { rmSync, writeFileSync } from "node:fs";
import { execFileSync } from "node:child_process";
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

const { program, screens, only, folder, store } = begun("evidence");
const clock = (iso) => iso.slice(11, 16);
const sizes = [
  [1366, 900],
  [820, 1180],
  [390, 844],
];

/** The bytes of a kept file of the visit, as text. */
const kept = (page, visit, sha256) =>
  page.evaluate(async (at) => (await fetch(at)).text(), `/api/v1/visits/${visit}/evidence/${sha256}`);

// The forecast: a series that was broken off, so that its end is still to come.
async function settling(page, at, visit) {
  await sentStage(page, visit, "settle");
  const step = await stepOf(page, visit, "settling series");
  const whole = (await kept(page, visit, step.evidence[0].sha256)).trim().split("\n");
  const header = whole.findIndex((line) => /^time/.test(line));
  const broken = join(folder, "broken_off.csv");
  // A third of the day: the oven is on its way and nobody knows the end but by the fit.
  writeFileSync(broken, `${whole.slice(0, header + 36).join("\n")}\n`);
  await page.goto(at(`/visit/${visit}`));
  await stageButton(page, "settle").click();
  const sheet = page.locator("section", { has: page.locator("#settling-title") });
  await sheet.getByText(/At rest since about/).waitFor();
  const full = told(program, ["settle", writtenAs("whole.csv", whole.join("\n"))]);
  check(
    (await sheet.locator(".settling-says").innerText()).includes(clock(full.ready_at)),
    `settling: at rest since ${clock(full.ready_at)}, as the command says`,
  );
  await pictured(page, "settling-at-rest", screens, () => sheet.getByText(/At rest since/).waitFor(), {
    schemes: ["light"],
  });
  await stepButton(page, "settling series").click();
  await page.locator(".step-form input[type=file]").first().setInputFiles(broken);
  // Recorded, the page goes on to what is to be done next.
  await page.getByText("Recorded: settling series, broken_off.csv").first().waitFor();
  await stageButton(page, "settle").click();
  await sheet.getByText(/Expected at rest at/).waitFor();
  const answer = told(program, ["settle", broken]);
  const says = await sheet.locator(".settling-says").innerText();
  for (const time of [answer.ready_at, ...answer.ready_interval])
    check(says.includes(clock(time)), `settling: the forecast names ${clock(time)}, as the command does: ${says}`);
  await sheet.getByText("The same in numbers").click();
  const rows = await sheet.locator("tbody tr").evaluateAll((list) => list.map((row) => [...row.cells].map((cell) => cell.innerText)));
  check(rows.length === answer.quantities.length, "settling: every quantity stands in the table");
  for (const [i, quantity] of answer.quantities.entries()) {
    check(rows[i][1] === quantity.motion, `settling: ${quantity.name} is ${rows[i][1]}`);
    if (quantity.remaining_change !== null)
      check(near(numbersIn(rows[i][3])[0], quantity.remaining_change, 6e-3), `settling: ${rows[i][3]} still to come, the command says ${quantity.remaining_change}`);
  }
  // The picture itself: one panel a quantity, the forecast beyond the last reading, the limit where one looks near.
  check((await sheet.locator(".settling-panel .curve").count()) === answer.quantities.length, "settling: every approach has its curve");
  check((await sheet.locator(".settling-panel .band").count()) > 0, "settling: and its band");
  const beyond = await sheet.locator(".settling-panel").first().evaluate((panel) => {
    const ready = panel.querySelector(".ready-at rect").getBoundingClientRect();
    const readings = panel.querySelector(".readings").getBoundingClientRect();
    return ready.right > readings.right;
  });
  check(beyond, "settling: what is expected lies beyond the last reading");
  const heightOf = () => sheet.locator(".around-end rect").first().evaluate((rect) => rect.getBoundingClientRect().height);
  const flat = await heightOf();
  await sheet.getByText("Around the limit").click();
  check((await heightOf()) > 5 * flat, "settling: around the limit the limit is wide");
  await sheet.getByText("All of it").click();
  await pictured(page, "settling", screens, () => sheet.getByText(/Expected at rest at/).waitFor(), { sizes });
  const judged = await api(page, `/api/v1/visits/${visit}/judged`);
  const finding = judged.findings.find((f) => f.id === "settled");
  check(finding.verdict === "not_yet", "settling: the finding says not yet, of the same file");
  // On paper: white, nothing of the screen's tools, the picture whole.
  await page.emulateMedia({ media: "print" });
  check(!(await page.locator(".buttons").first().isVisible()), "settling: on paper there are no buttons");
  check(await sheet.locator("svg").first().isVisible(), "settling: but the picture");
  await page.pdf({ path: join(screens, "settling.pdf") });
  await page.emulateMedia({ media: "screen" });
  // Taken back, so that the whole series stands again.
  await page.locator(".kept", { hasText: "broken_off.csv" }).getByRole("button", { name: "Take back" }).click();
  await until(page, async () => (await stepOf(page, visit, "settling series")).evidence.some((e) => e.standing === "withdrawn"), "taken back");
}

function writtenAs(name, text) {
  writeFileSync(join(folder, name), `${text}\n`);
  return join(folder, name);
}

async function sentStage(page, visit, last) {
  const { stages } = await api(page, `/api/v1/visits/${visit}`);
  for (const { name } of stages) {
    await sent(page, `/api/v1/visits/${visit}/demo`, { stage: name });
    if (name === last) return;
  }
}

async function factors(page, at, visit) {
  await sentStage(page, visit, "prove");
  await page.goto(at(`/visit/${visit}`));
  const sheet = page.locator("section", { has: page.locator("#factors-title") });
  await stageButton(page, "calibrate").click();
  await sheet.getByText("New factors against the last accepted").first().waitFor();
  const shown = told(program, ["visit", "show", visit, "--store", `${store}.invented`]);
  await sheet.getByText("The same in numbers").click();
  const rows = await sheet
    .locator("section[aria-label='New factors against the last accepted'] tbody tr")
    .evaluateAll((list) => list.map((row) => [...row.cells].map((cell) => cell.innerText.trim())));
  const shifts = shown.findings.filter((f) => f.id.startsWith("factor_shift:") && f.basis === "as_left");
  check(rows.length === shifts.length && rows.length > 8, `factors: ${rows.length} shifts, as the command has`);
  for (const [component, value, , verdict] of rows) {
    const finding = shifts.find((f) => f.id === `factor_shift:${component}`);
    const [seen, around] = numbersIn(value);
    check(
      Math.abs(seen - finding.value) < 0.06 && near(around, finding.k * finding.u, 0.06) && verdict === finding.verdict,
      `factors: ${component} ${value}, ${verdict}`,
    );
  }
  const drawn = await sheet.locator(".factor.is-fails").count();
  check(drawn === rows.filter((row) => row[3] === "fails").length && drawn > 0, "factors: each that fails is drawn as such");
  await pictured(page, "factors", screens, () => sheet.getByText("New factors against").first().waitFor(), { sizes });
  // As found: the order of the detector is broken, told by shape and word.
  await stageButton(page, "as found").click();
  await sheet.getByText(/should have a smaller factor than/).first().waitFor();
  const order = shown.findings.find((f) => f.id === "factor_order" && f.basis === "as_found");
  check((await sheet.getByText(/should have a smaller factor than/).count()) === order.value, `factors: ${order.value} pairs out of order, each in words`);
  check((await sheet.locator(".ring").count()) >= 2, "factors: and ringed in the picture");
  await pictured(page, "factors-disorder", screens, () => sheet.getByText(/should have a smaller factor/).first().waitFor());
  await stageButton(page, "decide").click();
  await sheet.getByText("Departure from the published responses").first().waitFor();
  check(true, "factors: what was found stands where it is decided");
  // The first look at a printed report draws the same.
  await page.goto(at("/look"));
  await page.getByRole("button", { name: "Try an example" }).click();
  const look = page.locator("section", { has: page.locator("#look-factors") });
  await look.getByText("Departure from the published responses").first().waitFor();
  const report = (await api(page, "/api/v1/examples/printed_report.csv")).text;
  const answer = told(program, ["look", writtenAs("printed_report.csv", report)]);
  const pattern = answer.findings.find((f) => f.id === "factor_pattern");
  const failing = await look.locator(".factor.is-fails .number").evaluateAll((list) => list.map((each) => each.textContent));
  const largest = failing.map((text) => numbersIn(text)[0]).sort((a, b) => Math.abs(Math.log1p(b / 100)) - Math.abs(Math.log1p(a / 100)))[0];
  check(near(largest, pattern.value, 1e-3), `factors: the largest that the look draws is ${largest} %, the command says ${pattern.value}`);
  await pictured(page, "look-factors", screens, () => look.locator("svg").first().waitFor(), { schemes: ["light", "dark"] });
}

async function trace(page, at, visit) {
  await sentStage(page, visit, "hand back");
  await page.goto(at(`/visit/${visit}`));
  await stageButton(page, "as found").click();
  const run = page.locator(".kept", { has: page.getByRole("button", { name: "Show the run" }) }).first();
  const name = (await run.locator(".kept-value").innerText()).trim();
  await run.getByRole("link", { name: /Open in Traces/ }).click();
  await page.getByRole("button", { name: "methane" }).waitFor();
  check(new URL(page.url()).searchParams.get("visit") === visit, "trace: the address names the visit and the entry");
  const heading = (await page.locator("h2").first().innerText()).trim();
  check(heading === name, `trace: ${heading} is open, with the names of the visit's method`);
  const entry = Number(new URL(page.url()).searchParams.get("entry"));
  const step = (await api(page, `/api/v1/visits/${visit}`)).stages
    .flatMap((stage) => stage.steps)
    .find((each) => each.evidence.some((one) => one.entry === entry));
  const sha = step.evidence.find((one) => one.entry === entry).sha256;
  const csv = writtenAs("run.csv", (await kept(page, visit, sha)).trimEnd());
  const method = (await stepOf(page, visit, "method")).evidence[0].sha256;
  const answer = told(program, ["trace", "peaks", csv, "--method", writtenAs("m.json", await kept(page, visit, method))]);
  check((await page.locator(".peaks tbody tr").count()) === answer.peaks.length, `trace: ${answer.peaks.length} peaks, as the command finds in the kept run`);
  const over = page.getByLabel("Lay another run of this visit over it");
  const groups = await over.locator("optgroup").evaluateAll((list) => list.map((each) => each.label));
  check(groups.some((label) => /as left|runs/.test(label)), `trace: runs as left are offered: ${groups.join(", ")}`);
  check(/as left/.test(groups[0]) || step.gas !== "line", "trace: the same gas as left first");
  await over.selectOption({ index: 1 });
  await page.locator(".key-overlay").waitFor();
  await pictured(page, "trace-of-visit", screens, () => page.locator(".key-overlay").waitFor(), { schemes: ["light", "dark"], sizes });
  await page.reload();
  await page.getByRole("link", { name: `Back to visit ${visit}` }).waitFor();
  check(true, "trace: a reload opens the same run of the same visit");
  await page.getByRole("link", { name: `Back to visit ${visit}` }).click();
  await page.locator(`#mark-${entry}`).waitFor({ state: "attached" });
  check((await page.locator(`#mark-${entry}`).getAttribute("aria-selected")) === "true", "trace: and the way back leads to the run on the visit line");
  await page.getByRole("img", { name: /trace of detector 1/i }).waitFor();
  await page.getByRole("link", { name: "Open it in Traces" }).click();
  await page.getByRole("button", { name: "methane" }).waitFor();
  check(Number(new URL(page.url()).searchParams.get("entry")) === entry, "trace: from the run's own panel too");
  await page.goto(at(`/trace?visit=${visit}&entry=1`));
  await page.getByText("This visit keeps no such run.").waitFor();
  check(true, "trace: an entry that kept no run is refused in a sentence");
}

async function pressure(page, at, visit) {
  await page.goto(at(`/visit/${visit}`));
  await stageButton(page, "prepare").click();
  await stepButton(page, "calibration certificate").click();
  const finding = async () =>
    (await api(page, `/api/v1/visits/${visit}/judged`)).findings.find((f) => f.id === "pressure" && f.gas === "calibration");
  const before = await finding();
  await page.getByRole("button", { name: "Read its pressure" }).click();
  const dialog = page.getByRole("dialog");
  await dialog.getByLabel("Reading").fill("5,4");
  await dialog.getByRole("button", { name: "Record it" }).click();
  await dialog.getByText("A gauge reading needs the pressure of the air").waitFor();
  check((await dialog.getByLabel("Pressure of the air", { exact: true }).getAttribute("aria-invalid")) === "true", "pressure: a gauge reading without the air is refused at its field");
  await pictured(page, "pressure", screens, () => dialog.waitFor(), { schemes: ["light", "dark"] });
  await dialog.getByLabel("Pressure of the air", { exact: true }).fill("98,7");
  await dialog.getByLabel("Gauge, serial").fill("G-17");
  await dialog.getByRole("button", { name: "Record it" }).click();
  await dialog.waitFor({ state: "detached" });
  await until(page, async () => (await finding()).value !== before.value, "the finding moves");
  const after = await finding();
  check(near(after.value, 540 + 98.7, 1e-9) && after.verdict === "fails", `pressure: ${before.value} kPa has become ${after.value} kPa, which fails`);
  check((await stepOf(page, visit, "calibration certificate")).state === "done", "pressure: the certificate stands as it was read back");
  const shown = told(program, ["visit", "show", visit, "--store", `${store}.invented`]);
  check(shown.findings.some((f) => f.id === "pressure" && f.value === after.value), "pressure: the command line says the same");
  await page.locator(".stage-findings li", { hasText: "Pressure left" }).getByText(/638\.7/).first().waitFor();
  check(true, "pressure: and so does the stage's evidence");
  await page.locator(".kept", { hasText: "pressure_" }).getByRole("button", { name: "Take back" }).click();
  await until(page, async () => (await finding()).value === before.value, "taken back");
  check(true, "pressure: taken back, the certificate's own stands again");
  const register = await api(page, "/api/v1/register?book=invented");
  const known = register.cylinders.find((each) => each.id === "HM-7714").findings.find((f) => f.id === "pressure");
  check(known.value === before.value, `pressure: and the cylinder itself is back at ${known.value} kPa`);

  // Of a cylinder in the own record: what is left, and how long it lasts.
  const gas = writtenAs("calibration_gas.json", (await api(page, "/api/v1/examples/calibration_gas.json")).text);
  const ago = (days) => new Date(Date.now() - days * 86_400_000).toISOString();
  execFileSync(program, ["cylinder", "add", gas, "--store", store, "--by", "A. Person", "--at", ago(20)]);
  await page.goto(at("/analysers"));
  const card = page.locator(".cards > li", { has: page.getByRole("heading", { name: "HM-7714" }) }).first();
  await card.getByText("Two readings at least a day apart").waitFor();
  await card.getByRole("button", { name: "Read its pressure" }).click();
  await dialog.getByLabel("Reading").fill("3.9");
  await dialog.locator("select").first().selectOption("MPa");
  await dialog.getByText("Absolute", { exact: true }).click();
  await dialog.getByRole("button", { name: "Record it" }).click();
  await dialog.waitFor({ state: "detached" });
  await card.getByText(/falls 15\.00?\d*|falls 15/).waitFor();
  // 4200 to 3900 kPa in 20 days; 3200 kPa are left to 700 kPa.
  const days = numbersIn(await card.locator("li", { hasText: "days left, gas" }).locator("b").innerText())[0];
  check(Math.abs(days - 3200 / 15) < 2, `pressure: ${days} days of gas are left`);
  const left = numbersIn(await card.locator("li", { hasText: "pressure left" }).locator("b").innerText())[0];
  check(left === 3900, `pressure: ${left} kPa are left`);
  await pictured(page, "register-pressure", screens, () => card.getByText(/falls 15/).waitFor(), { schemes: ["light", "dark"] });
}

async function twin(page, at, visit) {
  await page.goto(at("/twin"));
  await page.getByRole("button", { name: "Try an example" }).click();
  await page.getByText(/What each peak loses/).waitFor();
  const open = page.getByRole("button", { name: "Fit it to runs of a visit" });
  const dialog = page.getByRole("dialog");
  const choose = async (step, gas) => {
    await open.click();
    await dialog.locator("select").first().selectOption(visit);
    await dialog.locator("fieldset", { hasText: step }).locator("label").first().click();
    if (gas) await dialog.getByText(gas, { exact: true }).click();
  };
  await choose("line gas as left", "The gas that is open here");
  await pictured(page, "twin-fit-runs", screens, () => dialog.getByText("The gas that ran").waitFor(), { schemes: ["light", "dark"] });
  await dialog.getByRole("button", { name: "Fit to this run" }).click();
  await page.getByRole("progressbar").waitFor();
  check(true, "twin: how far the fit is, is told while it works");
  await page.getByRole("button", { name: "Stop it" }).click();
  await page.getByText("The fit was stopped. Nothing was changed.").waitFor();
  check(true, "twin: and it can be stopped");
  await choose("line gas as left", "The gas that is open here");
  await dialog.getByRole("button", { name: "Fit to this run" }).click();
  await page.getByText(/parameters are determined/).waitFor({ timeout: 60_000 });
  const step = await stepOf(page, visit, "line gas as left");
  const run = writtenAs("fit.csv", (await kept(page, visit, step.evidence[0].sha256)).trimEnd());
  const method = writtenAs("method.json", (await api(page, "/api/v1/examples/method.json")).text);
  const gas = writtenAs("line_gas.json", (await api(page, "/api/v1/examples/line_gas.json")).text);
  const answer = told(program, ["oven", "fit", method, run, "--gas", gas]);
  const rows = await page.locator("table.fitted tbody tr").evaluateAll((list) => list.map((row) => [...row.cells].map((cell) => cell.innerText.trim())));
  check(rows.length === answer.parameters.length, `twin: ${rows.length} parameters, as the command fits`);
  for (const [i, [name, value, , state]] of rows.entries()) {
    const parameter = answer.parameters[i];
    const [seen, around] = numbersIn(value);
    const power = /\u00d7 10/.test(value);
    check(
      name.replace(": ", ":") === parameter.name &&
        (power || Math.abs(seen - parameter.value) <= Math.max(0.06 * parameter.u, 1e-3 * Math.abs(parameter.value))) &&
        (power || near(around, 2 * parameter.u, 0.06)) &&
        (parameter.determined ? !state.includes("not determined") : state.includes("not determined")),
      `twin: ${name} ${value}, ${state}`,
    );
  }
  await page.getByRole("button", { name: /Only what is not determined/ }).click();
  const un = answer.parameters.filter((each) => !each.determined).length;
  check((await page.locator("table.fitted tbody tr").count()) === un && un > 0, `twin: the ${un} that are not determined stand alone when asked for`);
  await page.getByRole("button", { name: /Only what is not determined/ }).click();
  await pictured(page, "twin-fit", screens, () => page.getByText(/parameters are determined/).waitFor());
  const before = await page.locator(".twin-below tbody tr").first().innerText();
  await page.getByRole("button", { name: "Go on with the fitted twin" }).click();
  await page.getByText(/The fitted twin is open/).waitFor();
  await until(page, async () => (await page.locator(".twin-below tbody tr").first().innerText()) !== before, "the fitted twin's own peaks");
  const back = page.getByRole("slider", { name: "turn heavy guard back" });
  const fitted = answer.parameters.find((each) => each.name === "event:turn heavy guard back");
  check(near(Number(await back.getAttribute("aria-valuenow")), fitted.value, 1e-4), `twin: its events stand where the runs put them, ${fitted.value} s`);
  await back.focus();
  await page.keyboard.press("ArrowLeft");
  await page.getByRole("button", { name: "Undo the last move" }).waitFor();
  check(await page.getByRole("button", { name: "Undo the last move" }).isEnabled(), "twin: and it is played with like the other");
}

const { server, address } = await started(program, ["--store", store, "--by", "A. Person"]);
const origin = new URL(address).origin;
const browser = await launched();
let code = 0;
let page = null;
try {
  page = await (await browser.newContext({ viewport: { width: 1366, height: 900 } })).newPage();
  page.setDefaultTimeout(20_000);
  const seen = watched(page, address);
  await page.goto(address);
  await page.waitForURL((url) => !url.search.includes("ticket"));
  const at = (path) => `${origin}${path}`;
  const visit = await played(page, "restore");
  for (const [name, walk] of Object.entries({ settling, factors, trace, pressure, twin }))
    if (only === null || only.includes(name)) {
      if (name !== "settling") await sentStage(page, visit, "hand back");
      await walk(page, at, visit);
    }
  const found = await violations(page);
  check(found.length === 0, `axe finds nothing at the end ${found.join(" | ")}`);
  check(seen.foreign.length === 0, `nothing outside was asked for ${seen.foreign}`);
  check(seen.complaints.length === 0, `the browser has no complaint ${seen.complaints.join("; ")}`);
} catch (fault) {
  console.error(`FAIL  ${fault.message}`);
  await page?.screenshot({ path: `${screens}/failed.png`, fullPage: true }).catch(() => {});
  code = 1;
} finally {
  await browser.close();
  if ((await stopped(server)) !== 0) code = 1;
  rmSync(folder, { recursive: true, force: true });
}
process.exit(code);
