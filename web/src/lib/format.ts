// Every number on the page goes through here, so that none stands without its unit, and each stands in the
// reader's units with the reader's decimal mark.
import { type System, shownValue, turned } from "./units";

/** How the reader wants numbers; set once by the settings, before anything is drawn. */
export const reading: { system: System; mark: "point" | "comma" } = { system: "si", mark: "point" };

/** What an expanded uncertainty leaves to be said: two significant digits of it. */
export function decimalsFor(uncertainty: number): number {
  if (!(uncertainty > 0) || !Number.isFinite(uncertainty)) return 3;
  return Math.min(8, Math.max(0, 1 - Math.floor(Math.log10(uncertainty))));
}

function printed(text: string): string {
  const zero = /^-0(\.0*)?$/.test(text);
  const signed = zero ? text.slice(1) : text.replace("-", "\u2212");
  return reading.mark === "comma" ? signed.replace(".", ",") : signed;
}

export function fixed(value: number, decimals: number): string {
  return printed(value.toFixed(decimals));
}

/** At most `digits` significant digits, no exponent for the numbers of the trade, no trailing zeros. */
export function short(value: number, digits = 4): string {
  return printed(String(Number(value.toPrecision(digits))));
}

const raised: Record<string, string> = {
  "-": "\u207b",
  "0": "\u2070",
  "1": "\u00b9",
  "2": "\u00b2",
  "3": "\u00b3",
  "4": "\u2074",
  "5": "\u2075",
  "6": "\u2076",
  "7": "\u2077",
  "8": "\u2078",
  "9": "\u2079",
};

/** "(\u22121.00 \u00b1 0.02) \u00d7 10\u207b\u2076": what has too many zeros otherwise. `around` 0: without it. */
export function powerText(value: number, around: number): string {
  const largest = Math.max(Math.abs(value), around);
  // 9.9996 is ten once it is rounded.
  const power = Math.floor(Math.log10(largest * 1.0005));
  const scale = 10 ** power;
  const tail = `\u00d7 10${[...String(power)].map((c) => raised[c] ?? c).join("")}`;
  if (!(around > 0)) return `${fixed(value / scale, 3)} ${tail}`;
  const n = decimalsFor(around / scale);
  return `(${fixed(value / scale, n)} \u00b1 ${fixed(around / scale, n)}) ${tail}`;
}

const written: Record<string, string> = {
  "MJ/m3": "MJ/m\u00b3",
  "kg/m3": "kg/m\u00b3",
  degC: "\u00b0C",
  degF: "\u00b0F",
  "Btu/ft3": "Btu/ft\u00b3",
  "lb/ft3": "lb/ft\u00b3",
  m3: "m\u00b3",
  ft3: "ft\u00b3",
};

/** What was typed as a number, with a point or a comma; null when it is none. */
export function typedNumber(text: string): number | null {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain)) return null;
  return Number(plain);
}

/** The very unit that is named, printed: for numbers that are in it whatever the reader's units. */
export function unitAsIs(unit: string): string {
  return written[unit] ?? unit;
}

/** A unit as it is printed: the reader's, in plain letters. */
export function unitName(unit: string): string {
  const shown = turned(unit, reading.system).unit;
  return written[shown] ?? shown;
}

/** The same with the narrow space that keeps it at its number. */
export function unitText(unit: string): string {
  return unit === "" ? "" : `\u202f${unitName(unit)}`;
}

// Decimals meant for one unit say as much in another when they follow its size.
function decimalsIn(unit: string, decimals: number): number {
  const { factor } = turned(unit, reading.system);
  return Math.min(8, Math.max(0, decimals - Math.round(Math.log10(Math.abs(factor)))));
}

export interface Measured {
  value: number | null;
  unit: string;
  /** Expanded uncertainty, same unit. */
  expanded?: number | null;
  /** Without uncertainty: how many decimals. */
  decimals?: number;
}

/** "0.12 ± 0.04 %", "38.214 MJ/m³", "no value". */
export function formatted({ value, unit, expanded, decimals }: Measured): string {
  if (value === null || !Number.isFinite(value)) return "no value";
  const shown = shownValue(value, unit, reading.system);
  const places = decimals === undefined ? undefined : decimalsIn(unit, decimals);
  if (expanded != null && expanded > 0) {
    const around = shownValue(expanded, unit, reading.system, true);
    const small = Math.max(Math.abs(shown), around) < 1e-3;
    if (small && decimals === undefined) return `${powerText(shown, around)}${unitText(unit)}`;
    const n = places ?? decimalsFor(around);
    return `${fixed(shown, n)} \u00b1 ${fixed(around, n)}${unitText(unit)}`;
  }
  const number = places === undefined ? short(shown) : fixed(shown, places);
  return `${number}${unitText(unit)}`;
}

/** A difference: "0.05 °C" is "0.09 °F", without the zero of the scale. */
export function formattedChange({ value, unit }: Pick<Measured, "value" | "unit">): string {
  if (value === null || !Number.isFinite(value)) return "no value";
  return `${short(shownValue(value, unit, reading.system, true), 3)}${unitText(unit)}`;
}

/** "−0.1 to 0.1 %", "at most 0.05 %", "no limit". */
export function limitText(low: number | null, high: number | null, unit: string): string {
  const tail = unitText(unit);
  const turn = (limit: number | null) => (limit === null ? null : shownValue(limit, unit, reading.system));
  return limitWords(turn(low), turn(high), tail);
}

function limitWords(low: number | null, high: number | null, tail: string): string {
  if (low !== null && high !== null)
    return low === -high ? `\u00b1 ${short(high, 6)}${tail}` : `${short(low, 6)} to ${short(high, 6)}${tail}`;
  if (high !== null) return `at most ${short(high, 6)}${tail}`;
  if (low !== null) return `at least ${short(low, 6)}${tail}`;
  return "no limit";
}

/** "14:22" of an ISO time, as the clock on site showed it: its own offset, not the reader's. */
export function clock(iso: string): string {
  return iso.slice(11, 16);
}

/** "19 May 2026". */
export function day(iso: string): string {
  const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const [year, month, date] = iso.slice(0, 10).split("-");
  return `${Number(date)} ${months[Number(month) - 1] ?? month} ${year}`;
}
