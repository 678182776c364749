// How long an entry of the invented visit takes, and the findings after it: entries.mjs PROGRAM [STORE].
// By the page's own API, without a browser: the visit is played stage by stage, then step by step readings, notes and a
// second method are added; each time what the technician waits for. Told: the entry's answer, then its findings.
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { opened, spread } from "./api.mjs";

const [program, kept] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "gaswright-perf-"));
const { asked, memory, close } = await opened(program, kept ?? join(folder, "record.db"));

try {
  const { data: played } = await asked("/api/v1/demo", {});
  const path = `/api/v1/visits/${encodeURIComponent(played.visit)}`;
  const told = { stage: [], entry: [], findings: [] };
  for (let guard = 0; guard < 20; guard += 1) {
    const { data: visit } = await asked(path);
    const stage = visit.stages.find((each) => each.steps.some((step) => step.state === "open"));
    if (!stage) break;
    const entry = await asked(`${path}/demo`, { stage: stage.name });
    if (entry.status !== 200) break;
    const judged = await asked(`${path}/judged`);
    told.stage.push([stage.name, entry.took, judged.took, judged.data.line.marks.length]);
  }
  for (const [name, entry, judged, runs] of told.stage)
    console.log(`${name.padEnd(28)} handed in ${entry.toFixed(0).padStart(5)} ms, findings after it ${judged.toFixed(0).padStart(5)} ms, ${runs} runs`);
  // One entry at a time on the whole visit, as beside an analyser: each waits for its findings.
  const { data: visit } = await asked(path);
  const steps = visit.stages.flatMap((stage) => stage.steps.map((step) => ({ stage: stage.name, step: step.name })));
  for (let i = 0; i < 12; i += 1) {
    const { stage, step } = steps[(5 * i) % steps.length];
    const entry = await asked(`${path}/record`, { stage, step, note: `note ${i}` });
    const judged = await asked(`${path}/judged`);
    told.entry.push(entry.took);
    told.findings.push(judged.took);
  }
  console.log(`a note's own answer: ${spread(told.entry)}`);
  console.log(`findings after a note: ${spread(told.findings)}`);
  // One more run at a time, each with a last row of its own, so that none is known already.
  const kept = visit.stages
    .flatMap((stage) => stage.steps.map((step) => ({ stage: stage.name, ...step })))
    .find((step) => step.name.startsWith("proving gas") && step.evidence.some((each) => each.sha256));
  const sha = kept.evidence.find((each) => each.sha256).sha256;
  const bytes = (await asked(`${path}/evidence/${sha}`)).bytes;
  const runs = { entry: [], findings: [] };
  for (let i = 0; i < 6; i += 1) {
    const query = String(new URLSearchParams({ stage: kept.stage, step: kept.name, as: "run", name: `again_${i}.csv` })).replaceAll("+", "%20");
    const entry = await asked(`${path}/file?${query}`, Buffer.concat([bytes, Buffer.from(`# again: ${i}\n`)]));
    if (entry.status !== 200) throw new Error(entry.problem.what);
    const judged = await asked(`${path}/judged`);
    runs.entry.push(entry.took);
    runs.findings.push(judged.took);
  }
  console.log(`a run's own answer: ${spread(runs.entry)}`);
  console.log(`findings after a run, ${visit.stages.length} stages, 36 runs and more: ${spread(runs.findings)}`);
  const over = [...told.entry, ...runs.entry].some((ms) => ms > 100) || [...told.findings, ...runs.findings].some((ms) => ms > 300);
  console.log(`budget, an entry 100 ms and its findings 300 ms: ${over ? "OVER" : "kept"}`);
  process.exitCode = over ? 1 : 0;
  const { now, most } = memory();
  console.log(`memory of the program: ${now.toFixed(0)} MB, at most ${most.toFixed(0)} MB`);
} finally {
  await close();
  rmSync(folder, { recursive: true, force: true });
}
