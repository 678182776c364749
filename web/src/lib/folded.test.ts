import { describe, expect, it } from "vitest";
import { folded, offsetOf, ticks } from "./folded";

const hour = 3_600_000;

describe("folded", () => {
  it("draws a day on site to scale", () => {
    const { at, pieces } = folded([0, 2 * hour, 4 * hour], 0, 400);
    expect(pieces).toHaveLength(1);
    expect(at(0)).toBe(0);
    expect(at(hour)).toBeCloseTo(100);
    expect(at(4 * hour)).toBe(400);
  });
  it("folds the days between", () => {
    const { at, pieces } = folded([0, hour, 50 * hour, 51 * hour], 0, 434);
    expect(pieces).toHaveLength(2);
    expect(at(hour)).toBeCloseTo(200);
    expect(at(50 * hour)).toBeCloseTo(234);
    expect(at(25 * hour)).toBeGreaterThan(200);
    expect(at(25 * hour)).toBeLessThan(234);
  });
  it("keeps the order of all instants and stays inside", () => {
    const times = [0, 1, hour, 9 * hour, 9.5 * hour, 400 * hour].map(Math.round);
    const { at } = folded(times, 60, 900);
    for (const [i, time] of times.entries()) {
      expect(at(time)).toBeGreaterThanOrEqual(60);
      expect(at(time)).toBeLessThanOrEqual(900);
      if (i > 0) expect(at(time)).toBeGreaterThan(at(times[i - 1] as number));
    }
  });
  it("stands on nothing without failing", () => {
    expect(Number.isFinite(folded([], 0, 100).at(5))).toBe(true);
    expect(folded([7], 0, 100).at(7)).toBe(0);
  });
});

describe("ticks", () => {
  it("names the hours of the clock on site", () => {
    const [piece] = folded([0, 2 * hour, 4 * hour], 0, 800).pieces;
    expect(piece && ticks(piece, 60).map((tick) => tick.label)).toEqual([
      "01:00",
      "02:00",
      "03:00",
      "04:00",
      "05:00",
    ]);
  });
  it("leaves hours out where they would touch", () => {
    const [piece] = folded([0, 2 * hour, 4 * hour], 0, 100).pieces;
    expect(piece && ticks(piece, 0).map((tick) => tick.label)).toEqual(["00:00", "02:00", "04:00"]);
  });
  it("reads the offset of a time", () => {
    expect(offsetOf("2026-05-19T10:00:00+02:00")).toBe(120);
    expect(offsetOf("2026-05-19T10:00:00-05:30")).toBe(-330);
    expect(offsetOf("2026-05-19T10:00:00Z")).toBe(0);
  });
});
