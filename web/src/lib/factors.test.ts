import { describe, expect, it } from "vitest";
import type { FactorMark, Finding } from "../api/types";
import { byDetector, disordered, rangeOf } from "./factors";

const mark = (component: string, value: number, u: number | null, detector = 1): FactorMark => ({
  component,
  detector,
  finding: { value, u, k: 2, low: -3, high: 3 } as Finding,
});

describe("factors", () => {
  it("holds whiskers and limits, with room", () => {
    const { from, to } = rangeOf({ id: "shift", title: "", marks: [mark("methane", 4, 0.5)] });
    expect(from).toBeLessThan(-3);
    expect(to).toBeGreaterThan(5);
  });
  it("has a width when nothing departs and nothing is limited", () => {
    const bare = { ...mark("methane", 0, null) };
    bare.finding = { ...bare.finding, low: null, high: null };
    const { from, to } = rangeOf({ id: "shift", title: "", marks: [bare] });
    expect(from).toBeLessThan(0);
    expect(to).toBeGreaterThan(0);
  });
  it("names the partners of a wrong order, from either side", () => {
    const pairs = [{ lower: "ethane", higher: "propane" }];
    expect(disordered("propane", pairs)).toEqual(["ethane"]);
    expect(disordered("ethane", pairs)).toEqual(["propane"]);
    expect(disordered("methane", pairs)).toEqual([]);
  });
  it("keeps detectors apart, in order, and marks in theirs", () => {
    const rows = byDetector([mark("a", 0, null, 2), mark("b", 0, null, 1), mark("c", 0, null, 2)]);
    expect(rows.map((row) => row.detector)).toEqual([1, 2]);
    expect(rows[1]?.marks.map((each) => each.component)).toEqual(["a", "c"]);
  });
});
