import { describe, expect, it } from "vitest";
import { bar, hours, linear } from "./scale";

describe("linear", () => {
  it("takes ends to ends, and a range of no width to the middle", () => {
    const at = linear(2, 4, 100, 0);
    expect([at(2), at(3), at(4)]).toEqual([100, 50, 0]);
    expect(linear(1, 1, 0, 10)(1)).toBe(5);
  });
});

describe("hours", () => {
  it("are whole on the clock of the site", () => {
    const list = hours("2026-05-19T08:05:00+01:00", "2026-05-19T10:00:00+01:00");
    expect(list.map((hour) => hour.label)).toEqual(["09:00", "10:00"]);
    expect(list[0]?.at).toBe(Date.parse("2026-05-19T09:00:00+01:00"));
    expect(hours("2026-05-19T23:30:00+05:30", "2026-05-20T00:30:00+05:30")[0]?.label).toBe("00:00");
  });
});

describe("bar", () => {
  it("keeps value, interval and limits in order inside the way", () => {
    const at = bar(0.05, 0.02, -0.1, 0.1);
    expect(at).not.toBeNull();
    if (!at) return;
    const order = [0, at.low ?? -1, at.from, at.value, at.to, at.high ?? -1, 1];
    expect(order).toEqual([...order].sort((a, b) => a - b));
  });
  it("starts a one-sided limit at zero", () => {
    const at = bar(0.01, 0, null, 0.05);
    expect(at?.low).toBeNull();
    expect(at?.value).toBeLessThan(at?.high ?? 0);
    expect(bar(0, 0, null, 0)?.value).toBe(bar(0, 0, null, 0)?.high);
  });
  it("draws nothing that is no number", () => {
    expect(bar(Number.NaN, 0, 0, 1)).toBeNull();
  });
});
