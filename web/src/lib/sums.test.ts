import { describe, expect, it } from "vitest";
import type { SumField, SumUnit } from "../api/types";
import {
  begunForm,
  emptyForm,
  emptyFormRow,
  fieldOf,
  inputsOf,
  isComplete,
  switched,
  unitsOf,
  usualUnit,
} from "./sums";

const unit = (name: string, dimension: string, factor: number, offset = 0, gauge = false): SumUnit => ({
  name,
  dimension,
  factor,
  offset,
  gauge,
});
// Factors by definition of the units (SI Brochure 9th ed.; NIST SP 811, Appendix B).
const units = [
  unit("kPa", "pressure", 1e3),
  unit("bar", "pressure", 1e5),
  unit("barg", "pressure", 1e5, 0, true),
  unit("degC", "temperature", 1, 273.15),
  unit("degF", "temperature", 1 / 1.8, 459.67 / 1.8),
  unit("C", "temperature", 1, 273.15),
];
const field = (key: string, part: Partial<SumField> = {}): SumField => ({
  key,
  help: key,
  form: "quantity",
  dimension: "pressure",
  unit: "kPa",
  required: false,
  entries: [],
  ...part,
});

describe("a form that was kept", () => {
  it("keeps what was typed in its unit, and begins an empty field in the unit of today", () => {
    const before = {
      p1: { value: "4", u: "", unit: "bar" },
      p2: { value: " ", u: "", unit: "bar" },
      gone: { value: "1", u: "", unit: "bar" },
    };
    const form = begunForm([field("p1"), field("p2"), field("p3")], () => "psi", before);
    expect(form.p1).toEqual(before.p1);
    expect(form.p2).toEqual({ value: "", u: "", unit: "psi" });
    expect(form.p3).toEqual({ value: "", u: "", unit: "psi" });
    expect(form.gone).toBeUndefined();
  });
});

describe("units", () => {
  it("are switched without changing what was meant", () => {
    expect(switched({ value: "400", u: "2", unit: "kPa" }, "bar", "pressure", units)).toEqual({
      value: "4",
      u: "0.02",
      unit: "bar",
    });
    expect(switched({ value: "20", u: "0.5", unit: "degC" }, "degF", "temperature", units)).toEqual({
      value: "68",
      u: "0.9",
      unit: "degF",
    });
  });
  it("leave the number alone between gauge and absolute, and what is no number", () => {
    expect(switched({ value: "4", u: "", unit: "barg" }, "bar", "pressure", units).value).toBe("4");
    expect(switched({ value: "x", u: "", unit: "kPa" }, "bar", "pressure", units).value).toBe("x");
  });
  it("begin as the reader wants them, where the sums know that unit", () => {
    expect(usualUnit("degC", "temperature", units, "us")).toBe("degF");
    expect(usualUnit("degC", "temperature", units, "si")).toBe("degC");
    expect(usualUnit("kPa", "pressure", units, "us")).toBe("kPa");
  });
  it("are listed once", () => {
    expect(unitsOf(units, "temperature")).toEqual(["degC", "degF"]);
  });
});

describe("a form", () => {
  const fields = [
    field("p1", { required: true }),
    field("gas", { form: "gas" }),
    field("steps", { form: "list", entries: [{ ...field("time"), entries: [] }] }),
  ];
  it("becomes inputs, and says which text is no number", () => {
    const form = emptyForm(fields, (each) => each.unit);
    form.p1 = { value: "4,5", u: "0.1", unit: "bar" };
    form.gas = { value: "methane", u: "", unit: "1" };
    const row = emptyFormRow([field("time")], (each) => each.unit);
    row.fields.time = { value: "abc", u: "", unit: "kPa" };
    form.steps = [row];
    const { inputs, wrong } = inputsOf(form, fields, "no number");
    expect(inputs.p1).toEqual({ value: 4.5, u: 0.1, unit: "bar" });
    expect(inputs.gas).toBe("methane");
    expect(wrong).toEqual({ "steps[0].time": "no number" });
    expect(isComplete(inputs, fields)).toBe(true);
    expect(isComplete({}, fields)).toBe(false);
  });
  it("finds the field that a refusal means", () => {
    expect(fieldOf("p1", ["p", "p1"])).toBe("p1");
    expect(fieldOf("steps[0].time", ["p1", "steps"])).toBe("steps");
    expect(fieldOf("water-capacity", ["water_capacity"])).toBe("water_capacity");
    expect(fieldOf("elsewhere", ["p1"])).toBeNull();
  });
});
