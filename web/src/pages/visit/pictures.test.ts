import { describe, expect, it } from "vitest";
import type { Finding, StageShown, Step } from "../../api/types";
import { factorBases, settles } from "./pictures";

const stage = (...steps: Partial<Step>[]) => ({ steps }) as unknown as StageShown;
const found = (id: string, basis: string) => ({ id, basis }) as unknown as Finding;

describe("pictures of a stage", () => {
  const asFound = stage({
    name: "calibration gas as found",
    wants: "run",
    gas: "calibration",
    basis: "as_found",
  });
  const calibrate = stage({
    name: "calibration as left",
    wants: "file",
    role: "calibration",
    basis: "as_left",
  });
  const decide = stage({ name: "decision", wants: "words" });
  const settle = stage({ name: "settling series", wants: "file", feeds: "settled" });

  it("shows factors where a calibration is evidence and something was judged", () => {
    const findings = [found("factor_order", "as_found"), found("cv_bias", "as_left")];
    expect(factorBases(asFound, findings)).toEqual(["as_found"]);
    expect(factorBases(calibrate, findings)).toEqual([]);
    expect(factorBases(calibrate, [found("factor_shift:methane", "as_left")])).toEqual(["as_left"]);
    expect(factorBases(settle, findings)).toEqual([]);
  });
  it("shows what was found where it is decided", () => {
    expect(factorBases(decide, [found("factor_pattern", "as_found")])).toEqual(["as_found"]);
  });
  it("shows settling where its series or the runs after it are wanted", () => {
    expect(settles(settle)).toBe(true);
    expect(settles(calibrate)).toBe(true);
    expect(settles(asFound)).toBe(false);
  });
});
