// A certificate as it is typed, and its file. What is typed stays as typed: 88.90 keeps its zero.
import { typedNumber } from "./format";

export interface Row {
  component: string;
  amount: string;
  expanded: string;
}

export interface Typed {
  serial: string;
  laboratory: string;
  certified: string;
  expires: string;
  pressure: string;
  unit: "mol%" | "mol/mol";
  k: string;
  rows: Row[];
}

const plain = (text: string) =>
  text.trim().replace(",", ".").replace(/^\+/, "").replace(/^\./, "0.").replace(/\.$/, "");
const isNumber = (text: string) => typedNumber(text) !== null;

export type Fault = { kind: "missing" | "number"; field: string } | { kind: "row" };

export const filled = (rows: Row[]) =>
  rows.filter((row) => row.component.trim() !== "" || row.amount.trim() !== "" || row.expanded.trim() !== "");

/** The first thing that is wrong; null when it can be kept. */
export function faultOf(typed: Typed): Fault | null {
  if (typed.serial.trim() === "") return { kind: "missing", field: "serial" };
  if (filled(typed.rows).length === 0) return { kind: "missing", field: "amount" };
  if (typed.pressure.trim() !== "" && !isNumber(typed.pressure)) return { kind: "number", field: "pressure" };
  if (!isNumber(typed.k)) return { kind: "number", field: "k" };
  for (const row of filled(typed.rows)) {
    if (row.component.trim() === "" || row.amount.trim() === "") return { kind: "row" };
    if (!isNumber(row.amount)) return { kind: "number", field: row.component };
    if (row.expanded.trim() !== "" && !isNumber(row.expanded))
      return { kind: "number", field: row.component };
  }
  return null;
}

/** Sum of the amounts as typed, with the decimals of the finest; null while one is no number. */
export function sumOf(rows: Row[]): string | null {
  const amounts = filled(rows).map((row) => plain(row.amount));
  if (amounts.length === 0 || !amounts.every(isNumber)) return null;
  const decimals = Math.max(...amounts.map((text) => text.split(".")[1]?.length ?? 0));
  return amounts.reduce((sum, text) => sum + Number(text), 0).toFixed(Math.min(decimals, 10));
}

/** The text of a cylinder file. */
export function cylinderFile(typed: Typed, role: "calibration" | "proving"): string {
  const text = (value: string) => JSON.stringify(value.trim());
  const components = filled(typed.rows).map((row) => {
    const parts = [`"value": ${plain(row.amount)}`];
    if (row.expanded.trim() !== "")
      parts.push(`"expanded_uncertainty": ${plain(row.expanded)}`, `"k": ${plain(typed.k)}`);
    return `      ${text(row.component)}: {${parts.join(", ")}}`;
  });
  const lines = [
    `  "schema": "gaswright.cylinder/1"`,
    `  "serial": ${text(typed.serial)}`,
    `  "role": "${role}"`,
    ...(typed.certified ? [`  "certified": ${text(typed.certified)}`] : []),
    ...(typed.expires ? [`  "expires": ${text(typed.expires)}`] : []),
    ...(typed.laboratory.trim() ? [`  "laboratory": ${text(typed.laboratory)}`] : []),
    ...(typed.pressure.trim() ? [`  "pressure_kpa": ${plain(typed.pressure)}`] : []),
    `  "certificate": {\n    "unit": "${typed.unit}",\n    "components": {\n${components.join(",\n")}\n    }\n  }`,
  ];
  return `{\n${lines.join(",\n")}\n}\n`;
}

export interface Amount {
  component: string;
  value: number;
}

/** The amounts of a kept cylinder file; null when it is none. */
export function amountsOf(file: string): Amount[] | null {
  try {
    const root = JSON.parse(file) as { certificate?: { components?: Record<string, unknown> } };
    const components = root.certificate?.components;
    if (!components) return null;
    return Object.entries(components).flatMap(([component, held]) => {
      const value = typeof held === "number" ? held : (held as { value?: unknown } | null)?.value;
      return typeof value === "number" ? [{ component, value }] : [];
    });
  } catch {
    return null;
  }
}

/** The components whose second typing is not the first. Numbers, not letters, are compared: 0.10 is 0.1. */
export function differing(first: Amount[], second: Record<string, string>): Amount[] {
  return first.filter(({ component, value }) => typedNumber(second[component] ?? "") !== value);
}
