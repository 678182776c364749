// What the journeys share: the program started, Debian's Chromium, axe's rules, checks that are told.
import { execFileSync, spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createRequire } from "node:module";

const require = createRequire(new URL("../../web/package.json", import.meta.url));
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

export function check(holds, what) {
  if (!holds) throw new Error(what);
  console.log(`ok    ${what}`);
}

/** What a journey in parts was started with: PROGRAM SCREENS [PART,PART]; its own folder and record in it. */
export function begun(name) {
  const [program, screens, parts] = process.argv.slice(2);
  mkdirSync(screens, { recursive: true });
  const folder = mkdtempSync(join(tmpdir(), `gaswright-${name}-`));
  return { program, screens, only: parts?.split(",") ?? null, folder, store: join(folder, "record.db") };
}

export const near = (a, b, share = 1e-3) => Math.abs(a - b) <= share * Math.max(Math.abs(a), Math.abs(b), 1e-12);

/** The program prints its address as its first line. */
export function started(program, args = []) {
  const server = spawn(program, ["serve", ...args], { stdio: ["ignore", "pipe", "inherit"] });
  return new Promise((resolve, reject) => {
    let said = "";
    server.stdout.on("data", (bytes) => {
      said += bytes;
      if (said.includes("\n")) resolve({ server, address: said.trim() });
    });
    server.on("exit", (code) => reject(new Error(`the program ended with exit code ${code}`)));
  });
}

export function stopped(server) {
  return new Promise((resolve) => {
    server.removeAllListeners("exit");
    server.on("exit", (code) => resolve(code));
    server.kill("SIGTERM");
  });
}

export const launched = () =>
  chromium.launch({
    executablePath: process.env.GW_CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
      "--disable-dev-shm-usage",
    ],
  });

/** Foreign requests and what the browser complains of, from now on. */
export function watched(page, address) {
  const seen = { foreign: [], complaints: [] };
  page.on("request", (request) => {
    const { protocol, host } = new URL(request.url());
    if (protocol !== "data:" && host !== new URL(address).host) seen.foreign.push(request.url());
  });
  page.on("console", (message) => {
    // A refusal that the page asked for on purpose is told by the browser as well.
    if (message.type() === "error" && !/status of 4\d\d/.test(message.text())) seen.complaints.push(message.text());
  });
  page.on("pageerror", (error) => seen.complaints.push(String(error)));
  return seen;
}

export async function violations(page) {
  await page.evaluate(axe); // by the debugger, so that the page's own policy stays as it is
  const look = async () =>
    (
      await page.evaluate(() =>
        window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }),
      )
    ).violations;
  let found = await look();
  // The foot that always stands covers whatever is scrolled beneath it: a target counts as too small only where it is so
  // at another place of the scroll, too. `small` measures whole targets.
  if (found.some((v) => v.id === "target-size")) {
    const before = await page.evaluate(() => {
      const at = scrollY;
      scrollBy(0, at > 160 ? -160 : 160);
      return at;
    });
    const again = (await look()).find((v) => v.id === "target-size")?.nodes.map((n) => n.target.join(" ")) ?? [];
    await page.evaluate((at) => scrollTo(0, at), before);
    found = found
      .map((v) => (v.id === "target-size" ? { ...v, nodes: v.nodes.filter((n) => again.includes(n.target.join(" "))) } : v))
      .filter((v) => v.nodes.length > 0);
  }
  return found.map(
    (v) => `${v.id}: ${v.nodes.map((n) => `${n.target.join(" ")} (${n.failureSummary})`).slice(0, 3).join("; ")}`,
  );
}

/** What is touched and is smaller than a thumb. Links within a sentence are told apart by their display. */
export const small = (page) =>
  page.evaluate(() =>
    [...document.querySelectorAll("button, summary, select, input:not([type=file]), textarea, [role=slider], a[href]")]
      .filter((e) => !e.closest(".unseen, .skip") && getComputedStyle(e).visibility !== "hidden")
      .filter((e) => !(e.tagName === "A" && getComputedStyle(e).display === "inline"))
      .map((e) => {
        // A radio or a box is touched by its label.
        const target = e.matches("[type=radio], [type=checkbox]") ? (e.closest("label") ?? e) : e;
        return [`${e.tagName} ${(e.textContent || e.getAttribute("aria-label") || e.id).slice(0, 30)}`, target.getBoundingClientRect()];
      })
      .filter(([, box]) => box.width > 0 && (box.height < 43.5 || box.width < 43.5))
      .map(([name, box]) => `${name} ${Math.round(box.width)}x${Math.round(box.height)}`),
  );

/** One view in every size and colour: nothing over the edge, axe clean, pictures. */
export async function pictured(page, name, screens, ready, { sizes, schemes } = {}) {
  for (const scheme of schemes ?? ["light", "dark", "contrast"]) {
    await page.emulateMedia({
      colorScheme: scheme === "dark" ? "dark" : "light",
      contrast: scheme === "contrast" ? "more" : "no-preference",
    });
    for (const [width, height] of sizes ?? [
      [1366, 900],
      [390, 844],
    ]) {
      await page.setViewportSize({ width, height });
      await ready();
      await page.waitForTimeout(300);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      check(wide <= 0, `${name}: nothing reaches over the edge at ${width}, ${scheme}`);
      await page.screenshot({ path: `${screens}/${name}-${width}-${scheme}.png`, fullPage: true });
      const found = await violations(page);
      check(found.length === 0, `${name}: axe finds nothing at ${width}, ${scheme} ${found.join(" | ")}`);
    }
  }
  await page.emulateMedia({ colorScheme: "light", contrast: "no-preference" });
  await page.setViewportSize({ width: 1366, height: 900 });
  const tiny = await small(page);
  check(tiny.length === 0, `${name}: what is touched is large enough ${tiny.join("; ")}`);
}

/** The answer of a command as data, whatever its verdict. */
export function told(program, args) {
  try {
    return JSON.parse(execFileSync(program, [...args, "--json"], { encoding: "utf8", maxBuffer: 1 << 28 }));
  } catch (fault) {
    if (fault.status === 1 && fault.stdout) return JSON.parse(fault.stdout);
    throw fault;
  }
}

/** The data of an answer of the program, as this window gets it. */
export const api = (page, path) => page.evaluate(async (at) => (await (await fetch(at)).json()).data, path);

/** The whole answer to what this window sends. */
export const sent = (page, path, body) =>
  page.evaluate(
    async ([at, what]) =>
      (
        await fetch(at, {
          method: "POST",
          headers: { "Content-Type": "application/json" },
          body: JSON.stringify(what),
        })
      ).json(),
    [path, body],
  );

/** The invented visit with every stage up to and with `last` handed in; its number. */
export async function played(page, last) {
  const visit = (await sent(page, "/api/v1/demo", {})).data.visit;
  for (const { name } of (await api(page, `/api/v1/visits/${visit}`)).stages) {
    const answer = await sent(page, `/api/v1/visits/${visit}/demo`, { stage: name });
    // A stage that holds nothing open any more has nothing to be handed in.
    if (answer.problem && answer.problem.code !== "not_found") throw new Error(answer.problem.what);
    if (name === last) break;
  }
  return visit;
}

/** The step of a visit as the program has it. */
export const stepOf = async (page, visit, name) =>
  (await api(page, `/api/v1/visits/${visit}`)).stages.flatMap((stage) => stage.steps).find((each) => each.name === name);

export const stageButton = (page, name) => page.locator("nav.stages").getByRole("button", { name: new RegExp(`^${name}`) });
export const stepButton = (page, name) =>
  page.locator(".steps .step").filter({ has: page.locator(".step-name").getByText(name, { exact: true }) });

/** Waits until a function says so; the page's policy forbids the browser tool's own way to wait. */
export async function until(page, holds, what, ms = 20_000) {
  const end = Date.now() + ms;
  while (!(await holds())) {
    if (Date.now() > end) throw new Error(`waited in vain: ${what}`);
    await page.waitForTimeout(50);
  }
}

/** Numbers of a text as the page writes them: "\u22120.35 \u00b1 0.02 %" gives [-0.35, 0.02]. */
export const numbersIn = (text) =>
  [...text.replaceAll("\u2212", "-").matchAll(/-?\d+(\.\d+)?/g)].map((match) => Number(match[0]));
