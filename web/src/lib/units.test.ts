import { describe, expect, it } from "vitest";
import { ownValue, shownValue, turned } from "./units";

describe("units", () => {
  it("leaves everything as it is for a reader of SI", () => {
    expect(turned("MJ/m3", "si")).toEqual({ unit: "MJ/m3", factor: 1, offset: 0 });
    expect(shownValue(21, "degC", "si")).toBe(21);
  });
  // NIST Special Publication 811 (2008), appendix B.8: Btu(IT) per cubic foot 3.725 895 E+04 J/m3, pound-force
  // per square inch 6.894 757 kPa, pound per cubic foot 1.601 846 E+01 kg/m3.
  it("turns by the printed factors", () => {
    expect(1 / shownValue(1, "MJ/m3", "us")).toBeCloseTo(0.03725895, 8);
    expect(1 / shownValue(1, "kPa", "us")).toBeCloseTo(6.894757, 6);
    expect(1 / shownValue(1, "kg/m3", "us")).toBeCloseTo(16.01846, 5);
    expect(shownValue(100, "degC", "us")).toBeCloseTo(212, 10);
  });
  it("takes a difference of temperature without the zero", () => {
    expect(shownValue(10, "degC", "us", true)).toBeCloseTo(18, 10);
  });
  it("comes back to where it was", () => {
    for (const unit of ["MJ/m3", "degC", "kPa gauge", "MWh", "unheard of"])
      expect(ownValue(shownValue(7.25, unit, "us"), unit, "us")).toBeCloseTo(7.25, 10);
  });
});
