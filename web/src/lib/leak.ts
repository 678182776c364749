// A leak test while it runs: what has been typed so far, as the inputs of the sum "leak".
import type { Draft } from "./drafts";
import { typedNumber } from "./format";

export interface Written {
  value: number;
  u: number;
  unit: string;
}

export type LeakInputs = Record<"volume" | "p1" | "p2" | "t1" | "t2" | "time", Written>;

const units = { volume: "mL", p1: "kPa", p2: "kPa", t1: "degC", t2: "degC" } as const;

/** Minutes since the start was pressed; null before. */
export function minutesWaited(draft: Draft, now: number): number | null {
  const started = Date.parse(draft.started ?? "");
  if (Number.isNaN(started)) return null;
  const until = Date.parse(draft.stopped ?? "");
  return Math.max(0, ((Number.isNaN(until) ? now : until) - started) / 60_000);
}

/** "7:05": a wait is watched by the second. */
export function waitText(minutes: number): string {
  const seconds = Math.floor(minutes * 60);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

/** The inputs when all of it is there, numbers, and some time has passed; else null. */
export function leakInputs(draft: Draft, now: number): LeakInputs | null {
  const minutes = minutesWaited(draft, now);
  if (minutes === null || minutes < 0.05) return null;
  const out: Partial<LeakInputs> = {
    // The clock of this device; the finger on the button is the larger part.
    time: { value: Number(minutes.toFixed(3)), u: 0.02, unit: "min" },
  };
  for (const [key, unit] of Object.entries(units) as [keyof typeof units, string][]) {
    const value = typedNumber(draft[key] ?? "");
    // Both pressures are read on one gauge, both temperatures on one thermometer.
    const u = typedNumber(draft[`${key.replace(/[12]$/, "")}_u`] ?? "");
    if (value === null || u === null) return null;
    out[key] = { value, u, unit };
  }
  return out as LeakInputs;
}

/** The file that the step takes: the same inputs. */
export const leakFile = (inputs: LeakInputs) => `${JSON.stringify(inputs, null, 1)}\n`;
