// Peaks that a person set by hand, kept in this browser by the trace they belong to; newest last.
import type { HandPeak } from "../api/types";
import { forget, keep, kept } from "./kept";

export interface Decision {
  /** Which peak: its detector and the time of the apex that was found there. */
  detector: number;
  apex_s: number;
  peak: HandPeak;
  reason: string;
  by: string;
  at: string;
}

function isList(value: unknown): value is Decision[] {
  return (
    Array.isArray(value) &&
    value.every(
      (each) =>
        typeof each === "object" &&
        each !== null &&
        typeof (each as Decision).apex_s === "number" &&
        typeof (each as Decision).reason === "string" &&
        typeof (each as Decision).peak?.area === "number",
    )
  );
}

const same = (a: Decision, detector: number, apex_s: number) =>
  a.detector === detector && Math.abs(a.apex_s - apex_s) < 1e-6;

export const decisionsOf = (trace: string): Decision[] => kept<Decision[]>(`hand.${trace}`, [], isList);

export function put(list: Decision[], one: Decision): Decision[] {
  return [...list.filter((each) => !same(each, one.detector, one.apex_s)), one];
}

export function without(list: Decision[], detector: number, apex_s: number): Decision[] {
  return list.filter((each) => !same(each, detector, apex_s));
}

export function find(list: Decision[], detector: number, apex_s: number): Decision | null {
  return list.find((each) => same(each, detector, apex_s)) ?? null;
}

export function save(trace: string, list: Decision[]): void {
  if (list.length === 0) forget(`hand.${trace}`);
  else keep(`hand.${trace}`, list);
}
