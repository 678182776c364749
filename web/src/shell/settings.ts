// What the reader has settled for this browser: colours, contrast, units, number format, name.
import { reading } from "../lib/format";
import { keep, kept } from "../lib/kept";
import { createStore, useStore } from "../lib/store";
import type { System } from "../lib/units";

export type Scheme = "device" | "light" | "dark";
export type Contrast = "device" | "more";
export type Mark = "point" | "comma";

export interface Settings {
  scheme: Scheme;
  contrast: Contrast;
  system: System;
  mark: Mark;
  /** Who records; empty: the user of this machine. */
  name: string;
}

const usual: Settings = { scheme: "device", contrast: "device", system: "si", mark: "point", name: "" };

function isSettings(value: unknown): value is Settings {
  if (typeof value !== "object" || value === null) return false;
  const it = value as Record<string, unknown>;
  return (
    ["device", "light", "dark"].includes(String(it.scheme)) &&
    ["device", "more"].includes(String(it.contrast)) &&
    ["si", "us"].includes(String(it.system)) &&
    ["point", "comma"].includes(String(it.mark)) &&
    typeof it.name === "string"
  );
}

export const settings = createStore<Settings>(kept("settings", usual, isSettings));
export const useSettings = () => useStore(settings);

export function change(part: Partial<Settings>): void {
  const next = { ...settings.get(), ...part };
  keep("settings", next);
  settings.set(next);
}

const dark = matchMedia("(prefers-color-scheme: dark)");
const more = matchMedia("(prefers-contrast: more)");

export interface Colours {
  scheme: "light" | "dark";
  contrast: "normal" | "more";
}

export function colours(): Colours {
  const { scheme, contrast } = settings.get();
  return {
    scheme: scheme === "device" ? (dark.matches ? "dark" : "light") : scheme,
    contrast: contrast === "more" || more.matches ? "more" : "normal",
  };
}

/** Tells the style sheet and the number format; again whenever the device or the reader changes its mind. */
export function apply(): void {
  const put = () => {
    const { scheme, contrast } = colours();
    document.documentElement.dataset.scheme = scheme;
    document.documentElement.dataset.contrast = contrast;
    const { system, mark } = settings.get();
    reading.system = system;
    reading.mark = mark;
  };
  put();
  settings.subscribe(put);
  dark.addEventListener("change", put);
  more.addEventListener("change", put);
  // Paper is white.
  addEventListener("beforeprint", () => {
    document.documentElement.dataset.scheme = "light";
  });
  addEventListener("afterprint", put);
}
