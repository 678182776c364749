// What the program holds in memory while the largest files are sent: uploads.mjs PROGRAM.
// The largest trace, the largest results file, the same as evidence of a visit, photographs, several at once, and ones
// that break off. Exit code 1 when the most it ever held passes 150 MB, or a file is left in the record's folder.
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { opened } from "./api.mjs";

const [program] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "gaswright-perf-"));
const budget = 150;
const scatter = (i) => {
  const x = Math.sin(i * 12.9898) * 43758.5453;
  return x - Math.floor(x) - 0.5;
};

// An hour of four detectors at 200 a second, as text of up to `bytes`.
function trace(bytes) {
  const lines = ["time_s,signal,signal_2,signal_3,signal_4"];
  let length = 0;
  for (let i = 0; length < bytes - 200; i += 1) {
    const t = i / 200;
    const peaks = [0, 1, 2].map((k) => (300 / (k + 1)) * Math.exp(-(((t % 900) - 200 - 250 * k) ** 2) / 72));
    const y = 5 + peaks[0] + peaks[1] + peaks[2];
    const line = `${t.toFixed(3)},${[0, 1, 2, 3].map((d) => (y + 0.02 * scatter(4 * i + d)).toFixed(7)).join(",")}`;
    lines.push(line);
    length += line.length + 1;
  }
  return Buffer.from(`${lines.join("\n")}\n`);
}

// As `assay replay` writes it.
function results(bytes) {
  const names = ["nitrogen", "methane", "carbon dioxide", "ethane", "C6+", "propane", "isobutane", "n-butane", "isopentane", "n-pentane"];
  const lines = [`run,start,unnormalised_total,${names.map((n) => `mole_percent:${n},u:mole_percent:${n}`).join(",")},gross_cv_volume,u:gross_cv_volume,warnings`];
  let length = 0;
  for (let i = 0; length < bytes - 1000; i += 1) {
    const at = new Date(Date.parse("2024-01-01T00:00:00Z") + i * 240_000).toISOString().replace(".000Z", "Z");
    const cells = names.map((_, k) => `${(k + 1 + 0.01 * scatter(11 * i + k)).toPrecision(8)},${(0.002 * (k + 1)).toPrecision(4)}`);
    const line = `run_${i}.csv,${at},${(100 + 0.2 * scatter(i)).toPrecision(8)},${cells.join(",")},39.4${i % 1000},0.0141,`;
    lines.push(line);
    length += line.length + 1;
  }
  return Buffer.from(`${lines.join("\n")}\n`);
}

const MB = 1 << 20;
const longest = trace(40 * MB);
const year = results(64 * MB);
const photo = Buffer.from(Uint8Array.from({ length: 24 * MB }, (_, i) => (i * 2654435761) >>> 13));
photo.set([0xff, 0xd8, 0xff, 0xe0]);
let worst = 0;

// A program anew for each: what one left behind does not stand in the figure of the next.
async function told(says, act) {
  const store = join(folder, `record-${Math.random().toString(36).slice(2)}.db`);
  const site = await opened(program, store);
  const before = site.memory().now;
  try {
    const said = await act(site);
    const { now, most } = site.memory();
    worst = Math.max(worst, most);
    console.log(`${says.padEnd(56)} ${said.padEnd(36)} at most ${most.toFixed(0)} MB, then ${now.toFixed(0)} MB (before ${before.toFixed(0)})`);
  } finally {
    await site.close();
  }
}
const answer = ({ status, took, problem }) => `${status} in ${took.toFixed(0)} ms${problem ? ` ${problem.code}` : ""}`;
const visit = async ({ asked }) => (await asked("/api/v1/visits", { plan: "exchange", analyser: "PX-1" })).data.visit;
const hand = async (site, query, bytes) => {
  const id = await visit(site);
  return site.asked(`/api/v1/visits/${id}/file?${query}`, bytes);
};

try {
  await told(`a trace of ${(longest.length / 1e6).toFixed(1)} MB opened`, async ({ asked }) => answer(await asked("/api/v1/traces?name=long.csv", longest)));
  await told(`results of ${(year.length / 1e6).toFixed(1)} MB opened, first chart`, async ({ asked }) => {
    const made = await asked("/api/v1/histories?name=year.csv", year);
    const chart = await asked(`/api/v1/histories/${made.data.id}/chart?column=gross_cv_volume`);
    return `${answer(made)}, ${answer(chart)}`;
  });
  await told("the trace as evidence of a visit, as a run", async (site) => answer(await hand(site, "stage=as%20found&step=proving%20gas%20as%20found&as=run&name=long.csv", longest)));
  await told("the trace as evidence of a visit, beside a step", async (site) => answer(await hand(site, "stage=prepare&step=reason&as=aside&name=long.csv", longest)));
  await told("a photograph of 24 MB beside a step", async (site) => answer(await hand(site, "stage=prepare&step=reason&as=aside&name=photo.jpg", photo)));
  await told("a file looked at without a word", async ({ asked }) => answer(await asked("/api/v1/files/look?name=long.csv", longest)));
  const tables = trace(12 * MB);
  await told("the largest table turned by picked columns", async ({ asked }) => answer(await asked("/api/v1/files/convert?name=long.csv&delimiter=comma&first_row=2&time=0&signals=1%2C2%2C3%2C4", tables)));
  await told("a longer one", async ({ asked }) => answer(await asked("/api/v1/files/convert?name=long.csv&delimiter=comma&first_row=2&time=0&signals=1", longest)));
  for (const [says, text] of [
    ["40 MB of figures in one line", "1,".repeat(20 * MB)],
    ["40 MB of JSON", `[${"1,".repeat(20 * MB - 2)}1]`],
    ["40 MB of words", "methane;is;a;gas;\n".repeat((40 * MB) / 18)],
  ])
    await told(says, async ({ asked }) => {
      const bytes = Buffer.from(text.slice(0, 40 * MB));
      const all = [];
      for (const path of ["traces", "files/look", "histories"]) all.push((await asked(`/api/v1/${path}?name=odd.csv`, bytes)).status);
      return all.join(" ");
    });
  await told("a table of readings, 8 MB", async ({ asked }) => {
    const line = (i) => `${new Date(Date.parse("2024-01-01T00:00:00Z") + i * 60_000).toISOString().replace(".000Z", "Z")},${(100 + scatter(i)).toPrecision(8)},${scatter(i + 7).toPrecision(6)}`;
    const rows = ["time,total,cv_bias"];
    for (let i = 0, length = 0; length < 8 * MB - 300; i += 1) {
      rows.push(line(i));
      length += rows.at(-1).length + 1;
    }
    return answer(await asked("/api/v1/histories?name=table.csv", Buffer.from(`${rows.join("\n")}\n`)));
  });
  await told("a bundle that is none", async ({ asked }) => answer(await asked("/api/v1/bundles?name=x.zip", photo)));
  await told("five traces sent at once", async ({ asked }) => {
    const all = await Promise.all([1, 2, 3, 4, 5].map((i) => asked(`/api/v1/traces?name=${i}.csv`, longest)));
    return all.map(({ status }) => status).join(" ");
  });
  await told("results and two traces sent at once", async ({ asked }) => {
    const all = await Promise.all([
      asked("/api/v1/histories?name=year.csv", year),
      asked("/api/v1/traces?name=1.csv", longest),
      asked("/api/v1/traces?name=2.csv", longest),
    ]);
    return all.map(({ status }) => status).join(" ");
  });
  // Killed in the middle: nothing may be left beside the record.
  const store = join(folder, "killed.db");
  writeFileSync(join(folder, "before"), "");
  const site = await opened(program, store);
  const half = site.asked("/api/v1/traces?name=long.csv", longest).catch(() => null);
  await new Promise((resolve) => setTimeout(resolve, 15));
  process.kill(site.pid, "SIGKILL");
  await half;
  const left = readdirSync(folder).filter((name) => !/^(before|record-|killed\.db)/.test(name));
  console.log(`files left beside the record after a kill: ${left.length === 0 ? "none" : left.join(", ")}`);
  console.log(`the most it ever held: ${worst.toFixed(0)} MB (budget ${budget})${worst > budget ? "  OVER" : ""}`);
  process.exitCode = worst > budget || left.length > 0 ? 1 : 0;
} finally {
  rmSync(folder, { recursive: true, force: true });
}
