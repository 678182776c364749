import { describe, expect, it } from "vitest";
import { moved, ordered, same, stepped, worseThan } from "./programme";

const programme = [
  { at_s: 0, action: "inject", fixed: true },
  { at_s: 5.4, action: "back", fixed: false },
  { at_s: 28.2, action: "open", fixed: false },
];

describe("a programme", () => {
  it("moves in steps of the analyser and stays in the cycle", () => {
    expect(stepped(5.4499, 0.1)).toBe(5.4);
    expect(stepped(46.6, 0.1)).toBe(46.6);
    expect(moved(programme, 1, 6.04, 0.1, 360)[1]?.at_s).toBe(6);
    expect(moved(programme, 1, -3, 0.1, 360)[1]?.at_s).toBe(0);
    expect(moved(programme, 2, 999, 0.1, 360)[2]?.at_s).toBe(360);
    expect(moved(programme, 0, 3, 0.1, 360)[0]?.at_s).toBe(0);
  });
  it("is compared and put in order by its actions", () => {
    expect(same(programme, moved(programme, 1, 5.4, 0.1, 360))).toBe(true);
    expect(same(programme, moved(programme, 1, 5.5, 0.1, 360))).toBe(false);
    const given = [
      { action: "open", at_s: 30 },
      { action: "inject", at_s: 0 },
    ];
    expect(ordered(programme, given).map((each) => each?.at_s ?? null)).toEqual([0, null, 30]);
  });
});

describe("what is worse", () => {
  const peak = (component: string, lost: number, gained: number, limit_percent = 0.1) => ({
    component,
    lost_percent: lost,
    gained_percent: gained,
    limit_percent,
  });
  it("is what goes beyond the least by more than the peak's own limit", () => {
    const least = [peak("ethane", 0.03, 0), peak("neopentane", 1.07, 0.5)];
    expect([...worseThan([peak("ethane", 0.12, 0), peak("neopentane", 1.07, 0.52, 0.5)], least)]).toEqual([]);
    expect([...worseThan([peak("ethane", 0.14, 0), peak("neopentane", 1.6, 0.5, 0.5)], least)]).toEqual([
      "ethane",
      "neopentane",
    ]);
    expect([...worseThan([...least, peak("propane", 0, 0.2)], least)]).toEqual(["propane"]);
  });
  it("is what is gone altogether", () => {
    expect([...worseThan([], [peak("ethane", 0, 0)])]).toEqual(["ethane"]);
  });
});
