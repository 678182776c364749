import { describe, expect, it } from "vitest";
import { amountsOf, cylinderFile, differing, faultOf, sumOf, type Typed } from "./certificate";

const typed: Typed = {
  serial: "HM-1",
  laboratory: 'lab "A"',
  certified: "2026-02-10",
  expires: "",
  pressure: "4200",
  unit: "mol%",
  k: "2",
  rows: [
    { component: "methane", amount: "88,90", expanded: "0,12" },
    { component: "ethane", amount: "11.1", expanded: "" },
    { component: "", amount: "", expanded: "" },
  ],
};

describe("a typed certificate", () => {
  it("becomes a cylinder file that keeps what was typed", () => {
    const file = cylinderFile(typed, "proving");
    expect(file).toContain('"value": 88.90');
    expect(JSON.parse(file)).toMatchObject({
      serial: "HM-1",
      role: "proving",
      laboratory: 'lab "A"',
      certificate: { components: { methane: { value: 88.9, expanded_uncertainty: 0.12, k: 2 } } },
    });
    expect(amountsOf(file)).toEqual([
      { component: "methane", value: 88.9 },
      { component: "ethane", value: 11.1 },
    ]);
  });
  it("says what is wrong before anything is kept", () => {
    expect(faultOf(typed)).toBeNull();
    expect(faultOf({ ...typed, serial: " " })).toEqual({ kind: "missing", field: "serial" });
    expect(faultOf({ ...typed, k: "two" })).toEqual({ kind: "number", field: "k" });
    expect(faultOf({ ...typed, rows: [{ component: "methane", amount: "", expanded: "" }] })).toEqual({
      kind: "row",
    });
    expect(faultOf({ ...typed, rows: [{ component: "methane", amount: "8x", expanded: "" }] })).toEqual({
      kind: "number",
      field: "methane",
    });
    expect(faultOf({ ...typed, rows: [] })).toEqual({ kind: "missing", field: "amount" });
  });
  it("adds up with the decimals of the finest", () => {
    expect(sumOf(typed.rows)).toBe("100.00");
    expect(sumOf([{ component: "a", amount: "x", expanded: "" }])).toBeNull();
  });
  it("finds the amounts that were read back otherwise", () => {
    const first = amountsOf(cylinderFile(typed, "calibration")) ?? [];
    expect(differing(first, { methane: "88.9", ethane: "11,10" })).toEqual([]);
    expect(differing(first, { methane: "89.8", ethane: "11.1" }).map((each) => each.component)).toEqual([
      "methane",
    ]);
    expect(differing(first, {})).toHaveLength(2);
  });
  it("takes no other file for a certificate", () => {
    expect(amountsOf("{}")).toBeNull();
    expect(amountsOf("not json")).toBeNull();
  });
});
