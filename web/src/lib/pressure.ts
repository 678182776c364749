// A pressure as it is typed off a gauge; the program turns it, with the pressure of the air, into an absolute one.
import type { TypedPressure } from "../api/types";
import { typedNumber } from "./format";
import { ownValue, type System } from "./units";

export const pressureUnits = ["kPa", "bar", "MPa", "psi"] as const;
export const airUnits = ["kPa", "mbar", "psi"] as const;

export interface Reading {
  value: string;
  unit: (typeof pressureUnits)[number];
  kind: "gauge" | "absolute";
  ambient: string;
  ambient_unit: (typeof airUnits)[number];
  temperature: string;
  with: string;
}

export type PressureFault = "value" | "ambient" | "temperature";

/** What is wrong with it; null when it can be sent. */
export function faultOf(reading: Reading): PressureFault | null {
  if (typedNumber(reading.value) === null) return "value";
  if (reading.kind === "gauge" && typedNumber(reading.ambient) === null) return "ambient";
  if (reading.temperature.trim() !== "" && typedNumber(reading.temperature) === null) return "temperature";
  return null;
}

/** As the program takes it. */
export function pressureOf(reading: Reading, system: System): TypedPressure {
  const gauge = reading.kind === "gauge";
  const unit = !gauge ? reading.unit : reading.unit === "psi" ? "psig" : `${reading.unit} gauge`;
  const temperature = typedNumber(reading.temperature);
  return {
    value: typedNumber(reading.value) ?? 0,
    unit,
    ...(gauge ? { ambient: typedNumber(reading.ambient) ?? 0, ambient_unit: reading.ambient_unit } : {}),
    ...(temperature === null ? {} : { temperature_c: ownValue(temperature, "degC", system) }),
    ...(reading.with.trim() === "" ? {} : { with: reading.with.trim() }),
  };
}
