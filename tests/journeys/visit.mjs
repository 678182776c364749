// The told demonstration as a reader meets it: visit.mjs PROGRAM SCREENS, or visit.mjs --at ADDRESS SCREENS.
// Opens the printed address in Debian's Chromium, goes to the told visit, chooses a run by keyboard, reads the ledger,
// holds the page against axe's rules in light and dark, and leaves pictures. Exit code 0 when all of it held.
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { check, launched, started, violations, watched } from "./browser.mjs";

const given = process.argv.slice(2);
const at = given[0] === "--at" ? given[1] : null;
const screens = given.at(-1);
mkdirSync(screens, { recursive: true });
const folder = mkdtempSync(join(tmpdir(), "gaswright-told-"));

const sizes = [
  [1366, 900],
  [820, 1180],
  [400, 800],
];

function stopped(server) {
  const asked = Date.now();
  return new Promise((resolve) => {
    server.removeAllListeners("exit");
    server.on("exit", (code) => resolve({ code, after: Date.now() - asked }));
    server.kill("SIGTERM");
  });
}

async function journey(page, address) {
  const seen = watched(page, address);

  await page.goto(address);
  await page.getByRole("link", { name: "Told visit" }).click();
  const line = page.getByRole("listbox", { name: /visit line/i });
  await line.waitFor();
  await page.getByRole("option").first().waitFor();
  check(!page.url().includes("ticket"), "the ticket has left the address");
  check((await page.getByRole("option").count()) === 36, "every run stands on the visit line");
  check(await page.getByText("INVENTED DATA").isVisible(), "the data says that it is invented");

  const chart = page.getByRole("img", { name: /trace of detector 1/i });
  await chart.waitFor();
  const before = await chart.getAttribute("aria-label");
  await line.focus();
  await page.keyboard.press("Home");
  await page.getByRole("img", { name: /trace of detector 1, line gas/i }).waitFor();
  const after = await page.getByRole("img", { name: /trace of detector 1/i }).getAttribute("aria-label");
  check(after !== before && after.includes("Line gas, stream 1, run 1"), "another run, chosen by keyboard, shows its trace");
  await page.getByRole("button", { name: "Later" }).click();
  await page.getByRole("img", { name: /stream 1, run 2/ }).first().waitFor();
  check(true, "the next run, chosen by touch, shows its trace");
  await page.getByText("The same peaks in numbers").click();
  check((await page.getByRole("row").count()) === 12, "eleven peaks stand in the table");
  await page.getByText("The same peaks in numbers").click();

  const ledger = page.getByRole("contentinfo");
  const text = await ledger.innerText();
  check(/can i sign\?/i.test(text) && /conformity shown/i.test(text), "the ledger asks and answers");
  check(/%/.test(text) && /limit|±|at most/.test(text), "the ledger has numbers against limits");
  const small = await page.evaluate(() =>
    [...document.querySelectorAll("button, summary, [role=listbox]")]
      .map((e) => [e.textContent.slice(0, 30), e.getBoundingClientRect()])
      .filter(([, box]) => box.width > 0 && (box.height < 43.5 || box.width < 43.5))
      .map(([name]) => name),
  );
  check(small.length === 0, `what is touched is large enough ${small}`);
  await line.focus();
  await page.keyboard.press("End");
  for (let i = 0; i < 6; i += 1) await page.keyboard.press("ArrowLeft");
  await page.getByRole("img", { name: /proving gas, run 6/i }).first().waitFor();
  check(seen.foreign.length === 0, `nothing outside was asked for ${seen.foreign}`);
  check(seen.complaints.length === 0, `the browser has no complaint ${seen.complaints.join("; ")}`);
}

async function pictures(page) {
  for (const scheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: scheme });
    for (const [width, height] of sizes) {
      await page.setViewportSize({ width, height });
      await page.reload();  // as one comes to it on such a screen
      await page.getByRole("img", { name: /trace of detector 1/i }).waitFor();
      await page.waitForTimeout(250);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      check(wide <= 0, `nothing reaches over the edge at ${width}, ${scheme}`);
      await page.screenshot({ path: `${screens}/told-${width}x${height}-${scheme}.png` });
      await page.screenshot({ path: `${screens}/told-whole-${width}-${scheme}.png`, fullPage: true });
      const found = await violations(page);
      check(found.length === 0, `axe finds nothing at ${width}, ${scheme} ${found.join(" | ")}`);
    }
  }
}

const run = at ? { server: null, address: at } : await started(given[0], ["--store", join(folder, "record.db")]);
const browser = await launched();
let code = 0;
try {
  const context = await browser.newContext({ viewport: { width: 1366, height: 900 } });
  const page = await context.newPage();
  page.setDefaultTimeout(20_000);
  await journey(page, run.address);
  await pictures(page);
  if (run.server) {
    const second = await (await browser.newContext()).newPage();
    const reply = await second.goto(run.address);
    check(reply.status() === 401, "the ticket opens nothing twice");
    await second.getByText("This window has no session").waitFor();
    check(true, "a window without session says what to do");
  }
} catch (fault) {
  console.error(`FAIL  ${fault.message}`);
  code = 1;
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
  if (run.server) {
    const end = await stopped(run.server);
    const clean = end.code === 0 && end.after < 1000;
    console[clean ? "log" : "error"](`${clean ? "ok   " : "FAIL "} the program stops when asked (${end.after} ms)`);
    if (!clean) code = 1;
  }
}
process.exit(code);
