import { describe, expect, it } from "vitest";
import { extremes, firstAtOrAfter, held, panned, rootTicks, ticks, timeTicks, valueAt, zoomed } from "./plot";

const limits = { from: 0, to: 100 };

describe("windows", () => {
  it("stay inside their limits", () => {
    expect(panned({ from: 10, to: 30 }, -50, limits)).toEqual({ from: 0, to: 20 });
    expect(panned({ from: 10, to: 30 }, 500, limits)).toEqual({ from: 80, to: 100 });
    expect(held({ from: -50, to: 500 }, limits, 1)).toEqual(limits);
    expect(held({ from: 50, to: 50 }, limits, 4)).toEqual({ from: 48, to: 52 });
  });
  it("zoom about what is pointed at", () => {
    const half = zoomed(limits, 25, 0.5, limits, 1);
    expect(half).toEqual({ from: 12.5, to: 62.5 });
    expect((25 - half.from) / (half.to - half.from)).toBeCloseTo(0.25);
    expect(zoomed(half, 25, 100, limits, 1)).toEqual(limits);
    expect(zoomed({ from: 50, to: 52 }, 51, 0.01, limits, 2)).toEqual({ from: 50, to: 52 });
  });
});

describe("ticks", () => {
  it("are round numbers inside the range", () => {
    expect(ticks(0, 360, 6)).toEqual({ at: [0, 100, 200, 300], decimals: 0 });
    expect(ticks(0.11, 0.42, 4)).toEqual({ at: [0.2, 0.3, 0.4], decimals: 1 });
    expect(ticks(-1, 1, 4).at).toEqual([-1, -0.5, 0, 0.5, 1]);
    expect(ticks(5, 5, 4).at).toEqual([]);
    expect(ticks(0, Number.NaN, 4).at).toEqual([]);
  });
  it("are round under a square root too, closer together below", () => {
    const list = rootTicks(0, 1600, 8);
    expect(list.length).toBeGreaterThan(4);
    for (const [i, { at }] of list.entries()) {
      expect(at).toBeGreaterThan(list[i - 1]?.at ?? 0);
      expect(at).toBeLessThanOrEqual(1600);
    }
    const seen = list.map(({ at }) => Math.sqrt(at));
    const steps = seen.slice(1).map((s, i) => s - (seen[i] ?? 0));
    expect(Math.max(...steps)).toBeLessThan(2.5 * Math.min(...steps));
    expect(rootTicks(1, 1, 5)).toEqual([]);
  });
  it("are days, months and years on a time axis", () => {
    const year = timeTicks(Date.UTC(2025, 0, 10), Date.UTC(2026, 0, 10), 6);
    expect(year.map((t) => t.label)).toEqual(["Apr 25", "Jul 25", "Oct 25", "2026"]);
    expect(timeTicks(Date.UTC(2025, 4, 1), Date.UTC(2025, 4, 4), 3).map((t) => t.label)).toEqual([
      "1 May",
      "2 May",
      "3 May",
      "4 May",
    ]);
    expect(timeTicks(Date.UTC(2025, 4, 1, 22), Date.UTC(2025, 4, 2, 2), 4).map((t) => t.label)).toEqual([
      "22:00",
      "23:00",
      "2 May",
      "01:00",
      "02:00",
    ]);
    expect(timeTicks(Date.UTC(2025, 4, 1, 9), Date.UTC(2025, 4, 1, 11), 2).map((t) => t.label)).toEqual([
      "1 May 09:00",
      "10:00",
      "11:00",
    ]);
    expect(timeTicks(5, 5, 4)).toEqual([]);
  });
});

describe("series", () => {
  const t = [0, 1, 2, 4];
  const y = [0, 10, 5, -5];
  it("are looked up between their points", () => {
    expect(firstAtOrAfter(t, 1.5)).toBe(2);
    expect(valueAt(t, y, 0.5)).toBe(5);
    expect(valueAt(t, y, 3)).toBe(0);
    expect(valueAt(t, y, 4)).toBe(-5);
    expect(valueAt(t, y, 4.1)).toBeNull();
    expect(valueAt(t, y, -1)).toBeNull();
    expect(valueAt([], [], 0)).toBeNull();
  });
  it("know their extremes within a stretch", () => {
    expect(extremes(t, y, { from: 0.5, to: 1.5 })).toEqual([0, 10]);
    expect(extremes(t, y, { from: 3, to: 3.5 })).toEqual([-5, 5]);
    expect(extremes([], [], { from: 0, to: 1 })).toBeNull();
  });
});
