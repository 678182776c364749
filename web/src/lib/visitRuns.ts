// The runs that a visit keeps, and the method that belongs to each.
import type { Standing, Step } from "../api/types";

export interface RunOfVisit {
  entry: number;
  sha256: string;
  /** What it is called: "calibration gas runs: run_3.csv". */
  says: string;
  file: string;
  step: string;
  gas: string;
  stream: string;
  basis: string;
  at: string;
}

const stepsOf = (standing: Standing): Step[] => standing.stages.flatMap((stage) => stage.steps);

/** Those that stand, or were replaced since: what was taken back is none. In order of the plan. */
export function runsOf(standing: Standing): RunOfVisit[] {
  return stepsOf(standing)
    .filter((step) => step.wants === "run")
    .flatMap((step) =>
      step.evidence
        .filter((kept) => kept.sha256 && kept.standing !== "withdrawn")
        .map((kept) => ({
          entry: kept.entry,
          sha256: kept.sha256 ?? "",
          says: `${step.name}: ${kept.value}`,
          file: String(kept.value),
          step: step.name,
          gas: step.gas ?? "",
          stream: kept.stream ?? "",
          basis: step.basis ?? "",
          at: kept.at,
        })),
    );
}

/** The method that belongs to a run: of its basis, else the last that is kept. Its SHA-256. */
export function methodOf(standing: Standing, basis: string): string | null {
  const kept = stepsOf(standing)
    .filter((step) => step.role === "method")
    .flatMap((step) =>
      step.evidence
        .filter((each) => each.sha256 && each.standing === "current")
        .map((each) => ({ basis: step.basis ?? "", sha256: each.sha256 ?? "" })),
    );
  return (kept.find((each) => each.basis === basis) ?? kept.at(-1))?.sha256 ?? null;
}

/** What may be laid over a run, under the name of its step: of the same gas first, as left before as found. */
export function overlays(runs: RunOfVisit[], of: RunOfVisit): { step: string; runs: RunOfVisit[] }[] {
  const rank = (run: RunOfVisit) =>
    (run.gas === of.gas && run.stream === of.stream ? 0 : 2) + (run.basis === "as_left" ? 0 : 1);
  const others = runs.filter((run) => run.sha256 !== of.sha256).sort((a, b) => rank(a) - rank(b));
  const out: { step: string; runs: RunOfVisit[] }[] = [];
  for (const run of others) {
    const there = out.find((each) => each.step === run.step);
    if (there) there.runs.push(run);
    else out.push({ step: run.step, runs: [run] });
  }
  return out;
}
