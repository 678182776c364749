import { expect, it } from "vitest";
import type { HandPeak } from "../api/types";
import { type Decision, find, put, without } from "./decisions";

const one = (apex_s: number, area: number): Decision => ({
  detector: 1,
  apex_s,
  peak: { area } as HandPeak,
  reason: "cut by the valve",
  by: "A. Person",
  at: "2026-05-19T10:00:00Z",
});

it("keeps one decision a peak, the newest", () => {
  const list = put(put([one(20, 1)], one(40, 2)), one(20, 3));
  expect(list.map((each) => each.peak.area)).toEqual([2, 3]);
  expect(find(list, 1, 20)?.peak.area).toBe(3);
  expect(find(list, 2, 20)).toBeNull();
  expect(without(list, 1, 20).map((each) => each.apex_s)).toEqual([40]);
});
