import { describe, expect, it } from "vitest";
import { leakFile, leakInputs, minutesWaited, waitText } from "./leak";

const draft = {
  started: "2026-05-19T12:00:00Z",
  volume: "45",
  volume_u: "2",
  p1: "412,30",
  p2: "412,18",
  p_u: "0,02",
  t1: "19.4",
  t2: "19.36",
  t_u: "0.01",
};
const at = (iso: string) => Date.parse(iso);

describe("a leak test under way", () => {
  it("knows how long it has run, and stops when it is stopped", () => {
    expect(minutesWaited(draft, at("2026-05-19T12:15:00Z"))).toBe(15);
    expect(minutesWaited({ ...draft, stopped: "2026-05-19T12:10:00Z" }, at("2026-05-19T12:15:00Z"))).toBe(10);
    expect(minutesWaited({}, 0)).toBeNull();
  });
  it("is watched by the second", () => {
    expect(waitText(7 + 5.4 / 60)).toBe("7:05");
    expect(waitText(0)).toBe("0:00");
  });
  it("gives the inputs of the sum once all is typed", () => {
    const inputs = leakInputs(draft, at("2026-05-19T12:15:00Z"));
    expect(inputs?.p1).toEqual({ value: 412.3, u: 0.02, unit: "kPa" });
    expect(inputs?.t2.u).toBe(0.01);
    expect(inputs?.time.value).toBe(15);
    expect(inputs && JSON.parse(leakFile(inputs)).volume).toEqual({ value: 45, u: 2, unit: "mL" });
  });
  it("gives none before, and none of what is no number", () => {
    expect(leakInputs({ ...draft, p2: "" }, at("2026-05-19T12:15:00Z"))).toBeNull();
    expect(leakInputs({ ...draft, p2: "4x" }, at("2026-05-19T12:15:00Z"))).toBeNull();
    expect(leakInputs(draft, at("2026-05-19T12:00:00Z"))).toBeNull();
  });
});
