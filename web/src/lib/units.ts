// Units as the reader wants them. Numbers travel in the units of the program; they are turned here, at the
// edge, and only for reading: what is recorded keeps the unit it was typed in.
// Exact by definition: foot 0.3048 m, pound 0.45359237 kg, Btu (IT) 1055.05585262 J, standard gravity.

export type System = "si" | "us";

export interface Turned {
  unit: string;
  factor: number;
  offset: number;
}

const foot3 = 0.3048 ** 3;
const btu = 1055.05585262;
const pound = 0.45359237;
const psi = (pound * 9.80665) / (0.0254 * 0.0254) / 1000; // kPa

const us: Record<string, Turned> = {
  "MJ/m3": { unit: "Btu/ft3", factor: (1e6 / btu) * foot3, offset: 0 },
  "MJ/kg": { unit: "Btu/lb", factor: (1e6 / btu) * pound, offset: 0 },
  "kg/m3": { unit: "lb/ft3", factor: foot3 / pound, offset: 0 },
  degC: { unit: "degF", factor: 1.8, offset: 32 },
  kPa: { unit: "psi", factor: 1 / psi, offset: 0 },
  "kPa gauge": { unit: "psi gauge", factor: 1 / psi, offset: 0 },
  MPa: { unit: "psi", factor: 1000 / psi, offset: 0 },
  bar: { unit: "psi", factor: 100 / psi, offset: 0 },
  MWh: { unit: "MMBtu", factor: 3600 / btu, offset: 0 },
  "MWh/d": { unit: "MMBtu/d", factor: 3600 / btu, offset: 0 },
  m3: { unit: "ft3", factor: 1 / foot3, offset: 0 },
  m: { unit: "ft", factor: 1 / 0.3048, offset: 0 },
  mm: { unit: "in", factor: 1 / 25.4, offset: 0 },
};

/** How a unit is shown; itself when the reader's system has no other. */
export function turned(unit: string, system: System): Turned {
  return (system === "us" && us[unit]) || { unit, factor: 1, offset: 0 };
}

/** A number of `unit` in the reader's unit. A difference or an uncertainty takes the factor alone. */
export function shownValue(value: number, unit: string, system: System, difference = false): number {
  const { factor, offset } = turned(unit, system);
  return value * factor + (difference ? 0 : offset);
}

/** Back again: what the reader typed in his unit, in the program's. */
export function ownValue(value: number, unit: string, system: System): number {
  const { factor, offset } = turned(unit, system);
  return (value - offset) / factor;
}
