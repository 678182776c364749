import { describe, expect, it } from "vitest";
import type { Standing } from "../api/types";
import { methodOf, overlays, runsOf } from "./visitRuns";

const step = (part: object) => ({ wants: "run", evidence: [], ...part });
const kept = (entry: number, part: object = {}) => ({
  entry,
  value: `run_${entry}.csv`,
  sha256: `hash${entry}`,
  standing: "current",
  at: "2026-05-19T13:00:00+02:00",
  ...part,
});
const visit = {
  stages: [
    {
      steps: [
        step({
          name: "line gas as found",
          gas: "line",
          basis: "as_found",
          evidence: [kept(1, { stream: "1" })],
        }),
        step({ name: "method", wants: "file", role: "method", evidence: [kept(2)] }),
      ],
    },
    {
      steps: [
        step({ name: "programme", wants: "file", role: "method", basis: "as_left", evidence: [kept(3)] }),
        step({
          name: "calibration gas runs",
          gas: "calibration",
          basis: "as_left",
          evidence: [kept(4), kept(5, { standing: "withdrawn" })],
        }),
        step({
          name: "line gas as left",
          gas: "line",
          basis: "as_left",
          evidence: [kept(6, { stream: "1" })],
        }),
      ],
    },
  ],
} as unknown as Standing;

describe("runs of a visit", () => {
  it("lists what stands, not what was taken back", () => {
    expect(runsOf(visit).map((run) => run.entry)).toEqual([1, 4, 6]);
  });
  it("finds the method of a run's own state, else the last", () => {
    expect(methodOf(visit, "as_left")).toBe("hash3");
    expect(methodOf(visit, "as_found")).toBe("hash3");
    expect(methodOf({ stages: [] } as unknown as Standing, "as_left")).toBeNull();
  });
  it("offers the as-left run on the same gas first, and never the run itself", () => {
    const runs = runsOf(visit);
    const first = runs[0];
    if (!first) throw new Error("no run");
    const offered = overlays(runs, first);
    expect(offered[0]?.step).toBe("line gas as left");
    expect(offered.flatMap((each) => each.runs.map((run) => run.entry))).toEqual([6, 4]);
  });
});
