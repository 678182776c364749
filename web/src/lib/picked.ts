// What somebody said of a table's columns, and how the same kind of table is known again.
import type { TableSample } from "../api/types";
import { keep, kept } from "./kept";

export interface Picked {
  time: number;
  signals: number[];
  timeUnit: string;
  unit: string;
  mark: "point" | "comma";
  firstRow: number;
}

const isPicked = (value: unknown): value is Picked | null => {
  if (value === null) return true;
  if (typeof value !== "object") return false;
  const it = value as Record<string, unknown>;
  return (
    typeof it.time === "number" &&
    Array.isArray(it.signals) &&
    it.signals.every((each) => typeof each === "number") &&
    typeof it.timeUnit === "string" &&
    typeof it.unit === "string" &&
    (it.mark === "point" || it.mark === "comma") &&
    typeof it.firstRow === "number"
  );
};

const numeric = (cell: string) => /^[+-]?[\d.,]+(e[+-]?\d+)?$/i.test(cell.trim()) && /\d/.test(cell);

/** The first line whose cells are mostly numbers; the first of all when none is. */
export function firstNumbers(sample: TableSample): number {
  const row = sample.rows.find(
    ({ cells }) =>
      cells.length === sample.width && cells.filter(numeric).length >= Math.ceil(cells.length / 2),
  );
  return (row ?? sample.rows[0])?.line ?? 1;
}

/** What the table looks like: delimiter, width, and the words above its numbers. */
export function likeness(sample: TableSample): string {
  const first = firstNumbers(sample);
  const words = sample.rows
    .filter((row) => row.line < first && row.cells.length === sample.width)
    .map((row) => row.cells.map((cell) => cell.toLowerCase().replace(/\d+/g, "#")).join("|"));
  return [sample.delimiter, sample.width, ...words].join(" / ");
}

const all = () =>
  kept<Record<string, Picked>>(
    "columns",
    {},
    (v): v is Record<string, Picked> => typeof v === "object" && v !== null,
  );

export function remembered(sample: TableSample): Picked | null {
  const found = all()[likeness(sample)] ?? null;
  return isPicked(found) ? found : null;
}

export function remember(sample: TableSample, picked: Picked): void {
  keep("columns", { ...all(), [likeness(sample)]: picked });
}

/** A first guess: the first column of numbers is time, the next the signal. */
export function guessed(sample: TableSample): Picked {
  const first = firstNumbers(sample);
  const row = sample.rows.find((each) => each.line === first)?.cells ?? [];
  const numbers = row.flatMap((cell, i) => (numeric(cell) ? [i] : []));
  const time = numbers[0] ?? 0;
  return {
    time,
    signals: numbers.slice(1, 2),
    timeUnit: "s",
    unit: "mV",
    mark: sample.decimal_comma ? "comma" : "point",
    firstRow: first,
  };
}
