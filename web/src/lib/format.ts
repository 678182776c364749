// Every number on the page goes through here, so that none stands without its unit.

/** What an expanded uncertainty leaves to be said: two significant digits of it. */
export function decimalsFor(uncertainty: number): number {
  if (!(uncertainty > 0) || !Number.isFinite(uncertainty)) return 3;
  return Math.min(8, Math.max(0, 1 - Math.floor(Math.log10(uncertainty))));
}

function withRealMinus(text: string): string {
  const zero = /^-0(\.0*)?$/.test(text);
  return zero ? text.slice(1) : text.replace("-", "\u2212");
}

export function fixed(value: number, decimals: number): string {
  return withRealMinus(value.toFixed(decimals));
}

/** At most `digits` significant digits, no exponent for the numbers of the trade, no trailing zeros. */
export function short(value: number, digits = 4): string {
  return withRealMinus(String(Number(value.toPrecision(digits))));
}

const written: Record<string, string> = {
  "MJ/m3": "MJ/m\u00b3",
  "kg/m3": "kg/m\u00b3",
  degC: "\u00b0C",
};

/** A unit as it is printed, with the narrow space that keeps it at its number. */
export function unitText(unit: string): string {
  return unit === "" ? "" : `\u202f${written[unit] ?? unit}`;
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
  if (expanded != null && expanded > 0) {
    const n = decimals ?? decimalsFor(expanded);
    return `${fixed(value, n)} \u00b1 ${fixed(expanded, n)}${unitText(unit)}`;
  }
  const number = decimals === undefined ? short(value) : fixed(value, decimals);
  return `${number}${unitText(unit)}`;
}

/** "−0.1 to 0.1 %", "at most 0.05 %", "no limit". */
export function limitText(low: number | null, high: number | null, unit: string): string {
  const tail = unitText(unit);
  if (low !== null && high !== null)
    return low === -high ? `\u00b1 ${short(high)}${tail}` : `${short(low)} to ${short(high)}${tail}`;
  if (high !== null) return `at most ${short(high)}${tail}`;
  if (low !== null) return `at least ${short(low)}${tail}`;
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
