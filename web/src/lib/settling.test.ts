import { describe, expect, it } from "vitest";
import type { SettlingQuantity, SettlingSource } from "../api/types";
import { heightOf, slowest, spanOf, timeAt, timeSteps } from "./settling";

const quantity = (name: string, part: Partial<SettlingQuantity> = {}): SettlingQuantity => ({
  name,
  unit: "s",
  limit: 0.1,
  settled: true,
  motion: "still",
  time_constant_s: null,
  remaining_change: 0,
  end_value: 10,
  ready_at_s: 0,
  at_s: [0, 600, 1200],
  values: [11, 10.2, 10],
  used: [true, true, true],
  curve: [],
  ...part,
});
const source = (...quantities: SettlingQuantity[]) => ({ quantities }) as unknown as SettlingSource;

describe("settling", () => {
  it("tells the clock on site, not the reader's", () => {
    expect(timeAt("2026-05-19T13:00:00+02:00", 90 * 60)).toBe("14:30");
    expect(timeAt("2026-05-19T23:30:00-05:00", 3600)).toBe("00:30");
    expect(timeAt(null, 61.4)).toBe("61\u202fs");
  });
  it("steps on round minutes of the clock", () => {
    const start = "2026-05-19T13:07:00Z";
    const steps = timeSteps(start, 0, 4 * 3600, 5);
    expect(steps.length).toBeGreaterThan(2);
    for (const t of steps) expect(timeAt(start, t).slice(3)).toMatch(/00|30/);
    expect(timeSteps(start, 5, 5, 5)).toEqual([]);
  });
  it("shows of each kind the one that rests last, the oven first", () => {
    const shown = slowest(
      source(
        quantity("retention:methane", { ready_at_s: 100 }),
        quantity("retention:ethane", { settled: false, ready_at_s: null }),
        quantity("total"),
        quantity("oven_c"),
        quantity("baseline", { limit: null }),
      ),
    );
    expect(shown.map((each) => each.name)).toEqual(["oven_c", "retention:ethane", "total"]);
  });
  it("does not let a far forecast make a speck of the readings", () => {
    const far = quantity("oven_c", { curve: [{ t_s: 90_000, y: 10, low: 9, high: 11 }] });
    expect(spanOf(source(far), null).to).toBe(1200 + 1800);
    expect(spanOf(source(quantity("oven_c")), 2000).to).toBeGreaterThan(2000);
    expect(spanOf(source(quantity("oven_c")), 50_000).to).toBeLessThan(2000);
  });
  it("leaves what was set aside out of the height, and holds the limits", () => {
    const wild = quantity("oven_c", { values: [11, 900, 10], used: [true, false, true] });
    const near = heightOf(wild, 1e9, true);
    expect(near.from).toBeCloseTo(9.4, 9);
    expect(near.to).toBeCloseTo(10.6, 9);
    const { from, to } = heightOf(wild, 1e9);
    expect(to).toBeLessThan(20);
    expect(from).toBeLessThan(9.9);
  });
});
