import { describe, expect, it } from "vitest";
import { faultOf, pressureOf, type Reading } from "./pressure";

const reading: Reading = {
  value: "38,5",
  unit: "bar",
  kind: "gauge",
  ambient: "992",
  ambient_unit: "mbar",
  temperature: "",
  with: "G-17",
};

describe("a pressure off a gauge", () => {
  it("needs the air where it is gauge, and not where it is absolute", () => {
    expect(faultOf({ ...reading, ambient: "" })).toBe("ambient");
    expect(faultOf({ ...reading, ambient: "", kind: "absolute" })).toBeNull();
    expect(faultOf({ ...reading, value: "full" })).toBe("value");
    expect(faultOf({ ...reading, temperature: "cold" })).toBe("temperature");
  });
  it("is sent in the unit it was typed in", () => {
    expect(pressureOf(reading, "si")).toEqual({
      value: 38.5,
      unit: "bar gauge",
      ambient: 992,
      ambient_unit: "mbar",
      with: "G-17",
    });
    expect(pressureOf({ ...reading, unit: "psi" }, "us").unit).toBe("psig");
    expect(pressureOf({ ...reading, kind: "absolute", with: "" }, "si")).toEqual({
      value: 38.5,
      unit: "bar",
    });
  });
  it("turns the reader's temperature", () => {
    expect(pressureOf({ ...reading, temperature: "41" }, "us").temperature_c).toBeCloseTo(5, 9);
    expect(pressureOf({ ...reading, temperature: "5" }, "si").temperature_c).toBe(5);
  });
});
