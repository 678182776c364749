import { afterEach, describe, expect, it } from "vitest";
import {
  clock,
  day,
  decimalsFor,
  fixed,
  formatted,
  limitText,
  powerText,
  reading,
  typedNumber,
} from "./format";

afterEach(() => {
  reading.system = "si";
  reading.mark = "point";
});

describe("the reader's own way", () => {
  it("turns value, uncertainty and limits into his units", () => {
    reading.system = "us";
    expect(formatted({ value: 39, unit: "MJ/m3", decimals: 3 })).toBe("1046.73\u202fBtu/ft\u00b3");
    expect(formatted({ value: 20, unit: "degC", expanded: 1 })).toBe("68.0 \u00b1 1.8\u202f\u00b0F");
    expect(limitText(null, 60, "degC")).toBe("at most 140\u202f\u00b0F");
  });
  it("prints and takes his decimal mark", () => {
    reading.mark = "comma";
    expect(fixed(-1.25, 2)).toBe("\u22121,25");
    expect(typedNumber(" \u22121,25 ")).toBe(-1.25);
    expect(typedNumber("1e-5")).toBe(1e-5);
    for (const none of ["", "1.2.3", "1,000.5", "12 m", "e5", "."]) expect(typedNumber(none)).toBeNull();
  });
});

describe("formatted", () => {
  it("never shows a number without its unit", () => {
    expect(formatted({ value: 38.2141, unit: "MJ/m3", decimals: 3 })).toBe("38.214\u202fMJ/m\u00b3");
    expect(formatted({ value: 0.004043, unit: "%" })).toBe("0.004043\u202f%");
  });
  it("gives two digits of the uncertainty and as many to the value", () => {
    expect(formatted({ value: -0.38512, unit: "%", expanded: 0.0949 })).toBe(
      "\u22120.385 \u00b1 0.095\u202f%",
    );
    expect(formatted({ value: 99.55, unit: "mol%", expanded: 12.4 })).toBe("100 \u00b1 12\u202fmol%");
  });
  it("says when there is no value", () => {
    expect(formatted({ value: null, unit: "%" })).toBe("no value");
    expect(formatted({ value: Number.NaN, unit: "%" })).toBe("no value");
  });
  it("has no minus before zero", () => {
    expect(fixed(-0.0001, 3)).toBe("0.000");
    expect(fixed(-0.0006, 3)).toBe("\u22120.001");
  });
});

describe("decimalsFor", () => {
  it("is never negative and never without end", () => {
    expect(decimalsFor(0.095)).toBe(3);
    expect(decimalsFor(1234)).toBe(0);
    expect(decimalsFor(0)).toBe(3);
    expect(decimalsFor(1e-30)).toBe(8);
  });
});

describe("limitText", () => {
  it("reads as one says it", () => {
    expect(limitText(-0.1, 0.1, "%")).toBe("\u00b1 0.1\u202f%");
    expect(limitText(99, 101, "mol%")).toBe("99 to 101\u202fmol%");
    expect(limitText(null, 0.05, "%")).toBe("at most 0.05\u202f%");
    expect(limitText(2, null, "")).toBe("at least 2");
    expect(limitText(null, null, "%")).toBe("no limit");
  });
});

describe("times", () => {
  it("are those of the clock on site, wherever the reader sits", () => {
    expect(clock("2026-05-19T08:38:00+01:00")).toBe("08:38");
    expect(day("2026-05-19")).toBe("19 May 2026");
  });
});

describe("powerText", () => {
  it("is used for what would be all zeros, and takes ten for ten", () => {
    expect(formatted({ value: 1.1e-5, unit: "mbar L/s", expanded: 6e-6 })).toBe(
      "(1.10 \u00b1 0.60) \u00d7 10\u207b\u2075\u202fmbar L/s",
    );
    expect(powerText(-9.9999e-6, 2e-7)).toBe("(\u22121.000 \u00b1 0.020) \u00d7 10\u207b\u2075");
  });
  it("takes the zeros out of value and interval alike", () => {
    expect(powerText(-1.0e-6, 2e-8)).toBe("(\u22121.000 \u00b1 0.020) \u00d7 10\u207b\u2076");
    expect(powerText(6.022e23, 0)).toBe("6.022 \u00d7 10\u00b2\u00b3");
    expect(powerText(0, 3e-5)).toBe("(0.0 \u00b1 3.0) \u00d7 10\u207b\u2075");
  });
});
