// An empty record, met for the first time: first_use.mjs PROGRAM SCREENS.
// The ways in, a visit of one's own, what is half typed, two windows at once, hostile text, files that say nothing of
// themselves, settings; every view held against axe's rules and left as a picture. Exit code 0 when all of it held.
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { check, launched, pictured, started, stopped, told, violations, watched } from "./browser.mjs";

const [program, screens] = process.argv.slice(2);
mkdirSync(screens, { recursive: true });
const folder = mkdtempSync(join(tmpdir(), "gaswright-first-"));
const store = join(folder, "record.db");
const script = `<img src=x onerror="document.title='broken into'"><script>document.title='broken into'</script>`;

const stepButton = (page, name) =>
  page.locator(".steps .step").filter({ has: page.locator(".step-name").getByText(name, { exact: true }) });
const settled = (page) => page.waitForLoadState("networkidle", { timeout: 3000 }).catch(() => {});

async function opened(page) {
  await page.getByRole("heading", { name: "What have you got?" }).waitFor();
  for (const way of ["Play a whole visit", "Read it in numbers", "Open a visit", "Choose files"])
    check(await page.getByText(way, { exact: true }).first().isVisible(), `a way in: ${way}`);
  await pictured(page, "first-use", screens, () => page.getByRole("heading", { name: "What have you got?" }).waitFor());
}

async function ownVisit(page) {
  await page.goto(new URL("/visits", page.url()).href);
  await page.getByLabel("Tag of the analyser").fill("PX-1");
  await page.getByLabel("Site").fill(script);
  await page.reload();
  check((await page.getByLabel("Tag of the analyser").inputValue()) === "PX-1", "what was half typed survives a reload");
  await pictured(page, "visits", screens, () => page.getByRole("button", { name: "Begin" }).waitFor());
  await page.getByRole("button", { name: "Begin" }).click();
  await page.getByText("Note the instruments taken along").first().waitFor();
  const visits = told(program, ["visit", "list", "--store", store]).visits;
  check(visits.length === 1 && visits[0].analyser === "PX-1", "the visit is in the record");
  return visits[0].visit;
}

// Every field of the step takes a script, and all of it comes back as the text that it is.
async function hostile(page, visit) {
  await page.getByText("Who, when, with what").click();
  for (const label of ["What was seen or done", "Who", "Instrument, serial", "Remark"])
    await page.getByLabel(label, { exact: true }).first().fill(script);
  await page.getByRole("button", { name: "Record", exact: true }).click();
  await page.getByText("Recorded: instruments in date").waitFor();
  await stepButton(page, "instruments in date").click();
  await page.locator(".evidence").getByText(script).first().waitFor();
  check(!(await page.title()).includes("broken"), "a script in every text field is shown as text");
  const shown = told(program, ["visit", "show", visit, "--store", store]);
  const step = shown.stages[0].steps.find((each) => each.name === "instruments in date");
  check(step.evidence[0].value === script && step.evidence[0].by === script.slice(0, 80), `and kept as it was typed ${JSON.stringify(step.evidence[0])}`);
}

// A certificate typed from the paper: what is wrong is said before anything is kept; zeros stay as they were printed.
async function certificate(page, visit) {
  await stepButton(page, "calibration certificate").click();
  await page.getByRole("button", { name: "Type the certificate" }).click();
  const dialog = page.getByRole("dialog");
  await dialog.getByLabel("Amount, methane").fill("94,50");
  await dialog.getByLabel("Expanded uncertainty, methane").fill("0,10");
  await dialog.getByLabel("Amount, ethane").fill("5.5x");
  await dialog.getByRole("button", { name: "Keep it" }).click();
  await dialog.getByText("Serial is missing.").waitFor();
  await dialog.getByLabel("Serial").fill("HM-1");
  await dialog.getByRole("button", { name: "Keep it" }).click();
  await dialog.getByText("ethane: this is no number.").waitFor();
  await dialog.getByLabel("Amount, ethane").fill("5.50");
  await dialog.getByText("100.00").waitFor();
  const found = await violations(page);
  check(found.length === 0, `axe finds nothing in the certificate ${found.join(" | ")}`);
  await page.screenshot({ path: `${screens}/certificate.png` });
  await dialog.getByRole("button", { name: "Keep it" }).click();
  await page.getByText("Recorded: calibration certificate").waitFor();
  const step = told(program, ["visit", "show", visit, "--store", store])
    .stages[0].steps.find((each) => each.name === "calibration certificate");
  check(step.state === "done" && step.evidence[0].value === "certificate HM-1.json", "a certificate typed in is kept as its file");
  // Who typed it cannot read it back.
  await stepButton(page, "calibration certificate read back").click();
  await page.getByRole("button", { name: "Read it back" }).click();
  await page.getByLabel("Who reads back").fill("A. Person");
  await page.getByText("Somebody else must read it back.").waitFor();
  check(true, "who typed a certificate does not read it back");
  await page.getByRole("dialog").getByRole("button", { name: "Close" }).click();
}

// A photograph is kept beside the step and shown; a page that calls itself a photograph is not.
async function photograph(page, visit) {
  const dot = Buffer.from(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==",
    "base64",
  );
  await stepButton(page, "reason").click();
  const photo = page.locator(".photo input[type=file]");
  await photo.setInputFiles({ name: "label.png", mimeType: "image/png", buffer: dot });
  const shown = page.getByRole("img", { name: "Photograph: label.png" });
  await shown.waitFor();
  await page.waitForTimeout(300);
  check((await shown.evaluate((img) => img.naturalWidth)) === 1, "a photograph is shown beside its step");
  await photo.setInputFiles({ name: "page.png", mimeType: "image/png", buffer: Buffer.from("<script>alert(1)</script>") });
  await page.getByRole("img", { name: "Photograph: page.png" }).waitFor({ state: "attached" });
  await page.waitForTimeout(300);
  const other = page.getByRole("img", { name: "Photograph: page.png" });
  check((await other.evaluate((img) => img.naturalWidth)) === 0, "what only calls itself a photograph shows nothing");
  const step = told(program, ["visit", "show", visit, "--store", store]).stages[0].steps[0];
  check(step.state === "open" && step.evidence.length === 2, "neither settles the step");
}

async function twoWindows(page, context, visit) {
  const other = await context.newPage();
  await other.goto(page.url());
  await stepButton(other, "seal kit").click();
  await stepButton(page, "seal kit").click();
  await other.getByLabel("Reading").fill("8");
  await page.getByLabel("Reading").fill("9");
  await other.getByRole("button", { name: "Record", exact: true }).click();
  await other.getByText("Recorded: seal kit").waitFor();
  // The first window hears of it without asking.
  await page.locator(".evidence").getByText("8").first().waitFor();
  check((await page.getByLabel("Reading").inputValue()) === "9", "a half-typed entry outlives what another window recorded");
  await page.getByRole("button", { name: "Record", exact: true }).click();
  await page.getByText("Recorded: seal kit").waitFor();
  await page.getByRole("button", { name: "Undo" }).last().click();
  await page.getByText("Taken back.").waitFor();
  const step = told(program, ["visit", "show", visit, "--store", store])
    .stages[0].steps.find((each) => each.name === "seal kit");
  check(step.evidence.length === 2, "neither edit is lost");
  check(step.evidence[0].value === 8 && step.evidence[1].standing === "withdrawn", "and the undo took back the second");
  await other.close();
}

async function raced(page, visit) {
  // A second hand writes by the command line while this window's view is held still.
  await page.route("**/api/v1/visits/*", (route) => route.abort());
  told(program, ["visit", "add", visit, "--stage", "prepare", "--step", "people told", "--value", "told", "--by", "B", "--store", store]);
  await page.waitForTimeout(1500);
  await page.unroute("**/api/v1/visits/*");
  await stepButton(page, "people told").click();
  await page.getByLabel("What was seen or done").fill("told as well");
  await page.getByRole("button", { name: "Record", exact: true }).click();
  await page.getByText("Somebody recorded in between").waitFor();
  await page.screenshot({ path: `${screens}/in-between.png` });
  await page.getByRole("button", { name: "Record it all the same" }).click();
  await page.getByText("Recorded: people told").waitFor();
  check(true, "what another hand recorded in between is shown before one's own is");
}

async function files(page) {
  const odd = join(folder, "odd.txt");
  let text = "Recorder 7\nwhen;what;n\n";
  for (let i = 0; i < 60; i += 1) text += `${(i * 0.02).toFixed(2).replace(".", ",")};${Math.round(50 * Math.exp(-((i - 30) ** 2) / 20))};x\n`;
  writeFileSync(odd, text);
  await page.goto(new URL("/files", page.url()).href);
  await page.locator("input[type=file]").setInputFiles(odd);
  await page.getByRole("button", { name: "Say which columns are what" }).click();
  await page.getByLabel("Column 1").waitFor();
  await page.screenshot({ path: `${screens}/columns.png` });
  await page.getByRole("button", { name: "It is a run" }).click();
  await page.getByText(/A run: 60 samples/).waitFor();
  check(true, "a table that says nothing of itself becomes a run");
  await page.reload();
  await page.locator("input[type=file]").setInputFiles(odd);
  await page.getByText(/A run: 60 samples/).waitFor();
  check(true, "and is known again");
  const junk = join(folder, "junk.bin");
  writeFileSync(junk, Buffer.from([0, 1, 2, 255, 254, 0, 7]));
  await page.locator("input[type=file]").setInputFiles(junk);
  await page.getByText("No reader of this program takes this file.").waitFor();
  check(true, "a file that is nothing is said to be nothing");
  await pictured(page, "files", screens, () => page.getByText("No reader of this program").waitFor());
}

async function settings(page) {
  await page.goto(new URL("/settings", page.url()).href);
  await page.getByText("1,25").click();
  await page.getByText("US: Btu").click();
  check(await page.getByText(/1058,\d+ ± 0,7\d/).isVisible(), "units and decimal mark follow at once");
  await page.getByText("High", { exact: true }).click();
  check((await page.locator("html").getAttribute("data-contrast")) === "more", "contrast follows at once");
  await page.getByText("1.25").click();
  await page.getByText("SI: MJ").click();
  await page.getByText("As the device").nth(1).click();
  await pictured(page, "settings", screens, () => page.getByLabel("Who records").waitFor());
}

async function byKeyboard(page) {
  await page.goto(new URL("/visits", page.url()).href);
  await page.keyboard.press("Tab");
  check(await page.getByText("To the content").isVisible(), "the first Tab offers the way to the content");
  for (let i = 0; i < 3; i += 1) await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await settled(page);
  check(new URL(page.url()).pathname !== "/nowhere", "places are reached by keyboard");
  await page.goBack();
  await page.getByRole("button", { name: "Begin" }).waitFor();
  check(true, "the browser's own back goes back");
  await page.setViewportSize({ width: 390, height: 844 });
  await page.getByRole("button", { name: "Places" }).click();
  await page.getByRole("dialog").getByRole("link", { name: "Settings" }).click();
  await page.getByLabel("Who records").waitFor();
  check(true, "places are reached in a small window");
  await page.setViewportSize({ width: 1366, height: 900 });
}

let { server, address } = await started(program, ["--store", store, "--by", "A. Person"]);
const browser = await launched();
let code = 0;
try {
  const context = await browser.newContext({ viewport: { width: 1366, height: 900 } });
  const page = await context.newPage();
  page.setDefaultTimeout(15_000);
  const seen = watched(page, address);
  await page.goto(address);
  await opened(page);
  const visit = await ownVisit(page);
  await hostile(page, visit);
  await certificate(page, visit);
  await photograph(page, visit);
  await twoWindows(page, context, visit);
  await raced(page, visit);
  await pictured(page, "visit", screens, async () => {
    await page.reload();
    await page.getByRole("heading", { name: /PX-1/ }).waitFor();
    await settled(page);
  });
  await files(page);
  await settings(page);
  await byKeyboard(page);
  check(seen.foreign.length === 0, `nothing outside was asked for ${seen.foreign}`);
  const complaints = seen.complaints.filter((text) => !text.includes("net::ERR_FAILED"));
  check(complaints.length === 0, `the browser has no complaint ${complaints.join("; ")}`);

  // A restart: what was half typed is still there for the one who comes back.
  await page.goto(new URL(`/visit/${visit}`, page.url()).href);
  await stepButton(page, "spare chosen").click();
  await page.getByLabel("What was seen or done").fill("OM-half");
  await stopped(server);
  await page.getByText("The program has stopped").waitFor();
  check(true, "a window says that the program has stopped");
  const port = new URL(address).port;
  ({ server, address } = await started(program, ["--store", store, "--port", port]));
  await page.goto(address);
  await page.goto(new URL(`/visit/${visit}`, page.url()).href);
  await stepButton(page, "spare chosen").click();
  check((await page.getByLabel("What was seen or done").inputValue()) === "OM-half", "what was half typed survives a restart");
} catch (fault) {
  console.error(`FAIL  ${fault.message}`);
  code = 1;
} finally {
  await browser.close();
  await stopped(server);
  rmSync(folder, { recursive: true, force: true });
}
process.exit(code);
