import { describe, expect, it } from "vitest";
import { moved, ordered, same, stepped } from "./programme";

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
