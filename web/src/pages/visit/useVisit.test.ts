import { describe, expect, it, vi } from "vitest";

vi.stubGlobal("matchMedia", () => ({ matches: false, addEventListener: () => {} }));

describe("what came between", () => {
  it("is harmless when it was evidence for other steps", async () => {
    const { harmless } = await import("./useVisit");
    const entry = (kind: string, step: string | null) => ({ entry: 1, kind, step, who: "A", recorded: "" });
    expect(harmless([entry("evidence", "rings out"), entry("note", "kit")], "tight")).toBe(true);
    expect(harmless([entry("evidence", "tight")], "tight")).toBe(false);
    expect(harmless([entry("undo", null)], "tight")).toBe(false);
    expect(harmless([entry("end", null)], "tight")).toBe(false);
    expect(harmless([entry("settled", "rings out")], "tight")).toBe(false);
  });
});
