// The form of a workshop sum: what was typed, in which unit; converted when the unit is switched.
import type { SumField, SumUnit } from "../api/types";
import { short, typedNumber } from "./format";
import { type System, turned } from "./units";

export interface Typed {
  value: string;
  u: string;
  unit: string;
}
/** What stands in one form; a list holds forms of its own. */
export interface Form {
  [key: string]: Typed | FormRow[];
}
export interface FormRow {
  name: string;
  fields: Record<string, Typed>;
}

export const emptyTyped = (unit: string): Typed => ({ value: "", u: "", unit });

type PlainField = Pick<SumField, "key" | "form" | "dimension" | "unit">;

/** The unit to begin with: the reader's own, where the sums know it. */
export function usualUnit(unit: string, dimension: string, units: SumUnit[], system: System): string {
  const own = turned(unit, system).unit;
  return unitsOf(units, dimension).includes(own) ? own : unit;
}

export type Usual = (field: PlainField) => string;

export function emptyForm(fields: SumField[], usual: Usual): Form {
  const out: Form = {};
  for (const field of fields) out[field.key] = field.form === "list" ? [] : emptyTyped(usual(field));
  return out;
}

/** The form to begin with: what was typed before, as far as the fields are still the same. A field in which nothing stands
 * begins in the reader's unit of today. */
export function begunForm(fields: SumField[], usual: Usual, before: Form): Form {
  const out = emptyForm(fields, usual);
  for (const field of fields) {
    const part = before[field.key];
    if (part === undefined || Array.isArray(part) !== (field.form === "list")) continue;
    if (Array.isArray(part) || part.value.trim() !== "" || part.u.trim() !== "") out[field.key] = part;
  }
  return out;
}

export const emptyFormRow = (fields: PlainField[], usual: Usual): FormRow => ({
  name: "",
  fields: Object.fromEntries(fields.map((field) => [field.key, emptyTyped(usual(field))])),
});

/** The names of a dimension's units, each once. */
export function unitsOf(units: SumUnit[], dimension: string): string[] {
  const doubled: Record<string, string> = { C: "degC", F: "degF", days: "d" };
  return units.filter((u) => u.dimension === dimension && !(u.name in doubled)).map((u) => u.name);
}

/** The same quantity typed in another unit. Gauge and absolute pressure are not turned into each other. */
export function switched(typed: Typed, to: string, dimension: string, units: SumUnit[]): Typed {
  const a = units.find((u) => u.dimension === dimension && u.name === typed.unit);
  const b = units.find((u) => u.dimension === dimension && u.name === to);
  if (!a || !b || a.gauge !== b.gauge) return { ...typed, unit: to };
  const turn = (text: string, offset: boolean) => {
    const value = typedNumber(text);
    if (value === null) return text;
    const si = value * a.factor + (offset ? a.offset : 0);
    return short((si - (offset ? b.offset : 0)) / b.factor, 8).replace("\u2212", "-");
  };
  return { value: turn(typed.value, true), u: turn(typed.u, false), unit: to };
}

/** Fields whose text is no number: by the name that the program uses too ("streams[0].flow"). */
export type Wrong = Record<string, string>;

function given(typed: Typed, field: PlainField, where: string, wrong: Wrong, notNumber: string): unknown {
  if (field.form === "gas") {
    const text = typed.value.trim();
    if (text === "") return undefined;
    if (!text.startsWith("{")) return text;
    try {
      return JSON.parse(text);
    } catch {
      return text;
    }
  }
  const value = typedNumber(typed.value);
  const u = typedNumber(typed.u);
  const isWrong = (text: string, number: number | null) => text.trim() !== "" && number === null;
  if (isWrong(typed.value, value) || isWrong(typed.u, u)) wrong[where] = notNumber;
  if (value === null) return undefined;
  return { value, unit: typed.unit, ...(u ? { u } : {}) };
}

/** What is sent, and what cannot be. */
export function inputsOf(
  form: Form,
  fields: SumField[],
  notNumber: string,
): { inputs: Record<string, unknown>; wrong: Wrong } {
  const inputs: Record<string, unknown> = {};
  const wrong: Wrong = {};
  for (const field of fields) {
    const part = form[field.key];
    if (Array.isArray(part)) {
      if (part.length === 0) continue;
      inputs[field.key] = part.map((row, i) => {
        const entry: Record<string, unknown> = row.name.trim() === "" ? {} : { name: row.name.trim() };
        for (const each of field.entries) {
          const typed = row.fields[each.key];
          const value = typed && given(typed, each, `${field.key}[${i}].${each.key}`, wrong, notNumber);
          if (value !== undefined) entry[each.key] = value;
        }
        return entry;
      });
    } else if (part) {
      const value = given(part, field, field.key, wrong, notNumber);
      if (value !== undefined) inputs[field.key] = value;
    }
  }
  return { inputs, wrong };
}

/** Whether every required field holds something. */
export function isComplete(inputs: Record<string, unknown>, fields: SumField[]): boolean {
  return fields.every((field) => !field.required || inputs[field.key] !== undefined);
}

/** The field that an error's place means: the place itself, or the field that begins it ("p1", "p1.value"). */
export function fieldOf(where: string, keys: string[]): string | null {
  const bare = where.replaceAll("-", "_");
  return (
    keys.find((key) => bare === key) ??
    keys.find((key) => bare.startsWith(`${key}.`) || bare.startsWith(`${key}[`)) ??
    null
  );
}
