// The whole invented visit beside the analyser: whole_visit.mjs PROGRAM SCREENS.
// From the empty record, through every stage, to both signatures, the handover and the bundle; the numbers on the page
// against those of the API and of the command line; pictures in light, dark, high contrast and in a small window.
// Exit code 0 when all of it held.
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { check, launched, pictured, started, stopped, told, violations, watched } from "./browser.mjs";

const [program, screens] = process.argv.slice(2);
mkdirSync(screens, { recursive: true });
const folder = mkdtempSync(join(tmpdir(), "gaswright-whole-"));
const store = join(folder, "record.db");
const passphrase = "a long enough word";

const api = (page, path) => page.evaluate(async (at) => (await (await fetch(at)).json()).data, path);
const stageButton = (page, name) => page.locator("nav.stages").getByRole("button", { name: new RegExp(`^${name}`) });
const stepButton = (page, name) =>
  page.locator(".steps .step").filter({ has: page.locator(".step-name").getByText(name, { exact: true }) });

// The certificate is read back as it is on site: by somebody else, typed a second time from the paper.
async function readBack(page, visit, entered, step) {
  const standing = await api(page, `/api/v1/visits/${visit}`);
  const kept = standing.stages.flatMap((stage) => stage.steps).find((each) => each.name === entered).evidence[0];
  const paper = await page.evaluate(
    async (at) => (await fetch(at)).json(),
    `/api/v1/visits/${visit}/evidence/${kept.sha256}`,
  );
  await stepButton(page, step).click();
  await page.getByRole("button", { name: "Read it back" }).click();
  const dialog = page.getByRole("dialog");
  await dialog.getByLabel("Who reads back").fill("B. Person");
  const amounts = Object.entries(paper.certificate.components);
  for (const [component, { value }] of amounts) await dialog.getByLabel(component, { exact: true }).fill(String(value));
  // One digit turned round is found.
  const [first, { value }] = amounts[1];
  await dialog.getByLabel(first, { exact: true }).fill(String(value + 1));
  await dialog.getByRole("button", { name: "Compare" }).click();
  await dialog.getByText("These differ.").waitFor();
  const found = await violations(page);
  check(found.length === 0, `axe finds nothing in the reading back ${found.join(" | ")}`);
  await page.screenshot({ path: `${screens}/read-back.png` });
  await dialog.getByLabel(new RegExp(`^${first}`)).fill(String(value));
  await dialog.getByRole("button", { name: "Compare" }).click();
  await dialog.waitFor({ state: "detached" });
  await page.getByText(`Recorded: ${step}`).first().waitFor();
  check(true, `read back by a second person, a wrong digit found: ${step}`);
}

async function prepare(page, visit) {
  const standing = await api(page, `/api/v1/visits/${visit}`);
  for (const step of standing.stages[0].steps.map((each) => each.name)) {
    if (step.endsWith("read back")) {
      await readBack(page, visit, step.replace(" read back", ""), step);
      continue;
    }
    await stepButton(page, step).click();
    await page.getByRole("button", { name: "Hand in what the demonstration recorded" }).click();
    await page.getByText(`Recorded: ${step}`).first().waitFor();
  }
  check(true, "the first stage, step by step");
}

async function stageAtOnce(page, name) {
  await stageButton(page, name).click();
  await page.getByRole("button", { name: /Hand in the rest of this stage/ }).click();
  await page.getByText(`Recorded: ${name}`, { exact: true }).last().waitFor();
  check(true, `stage ${name}`);
}

// A reading typed on site: with a wrong unit refused, over its limit kept and left open, then in order.
async function gasTest(page, visit) {
  await stageButton(page, "arrive").click();
  for (const step of ["this device", "hazards", "permit", "permit end"]) {
    await stepButton(page, step).click();
    await page.getByRole("button", { name: "Hand in what the demonstration recorded" }).click();
    await page.getByText(`Recorded: ${step}`).first().waitFor();
  }
  await stepButton(page, "gas test").click();
  check(await page.locator(".now .caution").first().isVisible(), "the caution stands beside the step");
  await page.getByLabel("Reading").fill("25");
  await page.getByRole("button", { name: "Record", exact: true }).click();
  await page.locator(".evidence").getByText("25").first().waitFor();
  const state = async () =>
    (await api(page, `/api/v1/visits/${visit}`)).stages[1].steps.find((each) => each.name === "gas test").state;
  check((await state()) === "open", "a reading outside its limit is kept and settles nothing");
  await page.getByLabel("Reading").fill("0,5");
  await page.getByRole("button", { name: "Record", exact: true }).click();
  await page.locator(".evidence").getByText(/^0\.5/).first().waitFor();
  check((await state()) === "done", "a reading with a decimal comma inside its limit settles the step");
}

async function numbers(page, visit) {
  const judged = await api(page, `/api/v1/visits/${visit}/judged`);
  const shown = told(program, ["visit", "show", visit, "--store", `${store}.invented`]);
  check(judged.may_sign.work && judged.may_sign.conformity, "both statements may be signed");
  check(shown.may_sign.work && shown.may_sign.conformity, "the command line says the same");
  const key = (f) => `${f.id}|${f.gas ?? ""}|${f.stream ?? ""}|${f.basis ?? ""}`;
  const byKey = new Map(shown.findings.map((f) => [key(f), f]));
  for (const finding of judged.findings) {
    const other = byKey.get(key(finding));
    if (!other || other.value !== finding.value || other.u !== finding.u || other.verdict !== finding.verdict)
      throw new Error(`${key(finding)} is another on the command line`);
  }
  check(judged.findings.length === shown.findings.length, `${judged.findings.length} findings, the same to the last digit`);
  const bias = judged.findings.find((f) => f.id === "cv_bias" && f.basis === "as_left");
  const foot = await page.getByRole("contentinfo").innerText();
  const text = bias.value.toFixed(3).replace("-", "\u2212");
  check(foot.includes(text.slice(0, 5)), `the bias on the proving gas, ${text} %, stands at the foot`);
  const marks = await page.getByRole("option").count();
  check(marks === judged.line.marks.length && marks === 36, "every run is a mark on the line");
}

async function run(page) {
  const line = page.getByRole("listbox", { name: /visit line/i });
  await line.focus();
  await page.keyboard.press("End");
  await page.getByRole("img", { name: /trace of detector 1/i }).waitFor();
  check(true, "a run chosen by keyboard shows its trace");
}

async function sign(page, statement, name, first) {
  await page.getByRole("contentinfo").getByRole("button", { name: "Sign", exact: true }).click();
  const dialog = page.getByRole("dialog");
  await dialog.getByText("A signature covers").waitFor();
  if (!first) await dialog.getByText("Make a key", { exact: true }).click();
  await dialog.getByLabel("Name, as in the record").fill(name);
  await dialog.getByLabel("Passphrase", { exact: true }).last().fill(passphrase);
  await dialog.getByLabel("Passphrase, again").fill(passphrase);
  await dialog.getByRole("button", { name: "Make the key" }).click();
  await page.getByText(`A key for ${name} is made`).waitFor();
  await dialog.getByLabel("Whose key").waitFor();
  await dialog.getByText(statement, { exact: true }).click();
  await dialog.getByLabel("Passphrase", { exact: true }).first().fill("not the right one");
  await dialog.getByRole("button", { name: "Sign", exact: true }).click();
  await dialog.getByRole("alert").waitFor();
  await dialog.getByLabel("Passphrase", { exact: true }).first().fill(passphrase);
  const found = await violations(page);
  check(found.length === 0, `axe finds nothing in the signing ${found.join(" | ")}`);
  await page.screenshot({ path: `${screens}/sign-${name.slice(0, 1).toLowerCase()}.png` });
  await dialog.getByRole("button", { name: "Sign", exact: true }).click();
  await dialog.waitFor({ state: "detached" });
  await page.getByText(`signed by ${name}`).waitFor();
  check(true, `${statement}: signed by ${name}, a wrong passphrase refused`);
}

async function leftBehind(page, context, visit) {
  const [reader] = await Promise.all([
    context.waitForEvent("page"),
    page.getByRole("link", { name: "Read the handover" }).click(),
  ]);
  await reader.getByText("B. Person").first().waitFor();
  await reader.screenshot({ path: `${screens}/handover.png` });
  const colour = await reader.evaluate(() => getComputedStyle(document.body).fontFamily);
  check(!/times/i.test(colour), "the handover is read with its own style, under a policy without exceptions");
  await reader.close();
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: /^Bundle/ }).click(),
  ]);
  const bundle = join(folder, "visit.zip");
  await download.saveAs(bundle);
  const verified = told(program, ["visit", "verify", bundle]);
  check(verified.intact && verified.signatures.length === 2, "the bundle is intact and holds both signatures");
  await page.goto(new URL("/files", page.url()).href);
  await page.locator("input[type=file]").setInputFiles(bundle);
  await page.getByText(/Intact: visit/).waitFor();
  await page.getByRole("button", { name: "Take it into the record" }).click();
  await page.getByText(/entries taken in/).waitFor();
  check(told(program, ["visit", "list", "--store", store]).visits[0].visit === visit, "the bundle is taken into another record");
}

const { server, address } = await started(program, ["--store", store, "--by", "A. Person"]);
const browser = await launched();
let code = 0;
let page = null;
try {
  const context = await browser.newContext({ viewport: { width: 1366, height: 900 }, acceptDownloads: true });
  page = await context.newPage();
  page.setDefaultTimeout(30_000);
  const seen = watched(page, address);
  const begun = Date.now();
  await page.goto(address);
  await page.getByRole("button", { name: "Play a whole visit" }).click();
  await page.getByRole("heading", { name: /Harrowmere/ }).waitFor();
  const visit = decodeURIComponent(new URL(page.url()).pathname.split("/")[2]);
  check(await page.getByText("INVENTED DATA").isVisible(), "the data says that it is invented");
  await prepare(page, visit);
  await gasTest(page, visit);
  const standing = await api(page, `/api/v1/visits/${visit}`);
  const names = standing.stages.map((stage) => stage.name);
  for (const name of names.slice(1)) {
    await stageAtOnce(page, name);
    if (name === "as found") {
      await page.getByRole("option").nth(10).waitFor();
      await page.screenshot({ path: `${screens}/visit-as-found.png` });
    }
  }
  await page.getByRole("option").nth(35).waitFor();
  await page.locator(".is-not_yet.run").first().waitFor({ state: "detached" });
  await numbers(page, visit);
  await run(page);
  await page.getByRole("button", { name: "End the visit" }).click();
  await page.getByRole("dialog").getByText("Completed").click();
  await page.getByRole("dialog").getByRole("button", { name: "End the visit" }).click();
  await page.getByText("The visit has ended as completed.").waitFor();
  await sign(page, "Work complete and left safe", "A. Person", true);
  await sign(page, "Conformity shown", "B. Person", false);
  const after = await api(page, `/api/v1/visits/${visit}/judged`);
  check(
    after.signatures.length === 2 && after.signatures.every((each) => each.valid && !each.of_earlier_state),
    "both signatures hold, of this very state",
  );
  console.log(`      from the empty record to both signatures in ${Math.round((Date.now() - begun) / 1000)} s`);
  await pictured(page, "whole-visit", screens, async () => {
    await page.reload();
    await page.getByRole("option").nth(35).waitFor();
    await page.getByText("the signature holds").first().waitFor();
  });
  await leftBehind(page, context, visit);
  check(seen.foreign.length === 0, `nothing outside was asked for ${seen.foreign}`);
  check(seen.complaints.length === 0, `the browser has no complaint ${seen.complaints.join("; ")}`);
} catch (fault) {
  console.error(`FAIL  ${fault.message}`);
  await page?.screenshot({ path: `${screens}/failed.png` });
  code = 1;
} finally {
  await browser.close();
  await stopped(server);
  rmSync(folder, { recursive: true, force: true });
}
process.exit(code);
