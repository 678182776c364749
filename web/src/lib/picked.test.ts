import { describe, expect, it } from "vitest";
import type { TableSample } from "../api/types";
import { firstNumbers, guessed, likeness } from "./picked";

const sample = (title: string): TableSample => ({
  delimiter: "semicolon",
  decimal_comma: true,
  width: 3,
  rows: [
    { line: 1, cells: [title] },
    { line: 2, cells: ["no", "when", "what"] },
    { line: 4, cells: ["x0", "0,00", "1,5"] },
    { line: 5, cells: ["x1", "0,01", "1,6"] },
  ],
});

describe("a table whose columns nobody named", () => {
  it("begins where the numbers do", () => {
    expect(firstNumbers(sample("Recorder 7"))).toBe(4);
    expect(firstNumbers({ ...sample("x"), rows: [] })).toBe(1);
  });
  it("is guessed at: time, then signal", () => {
    expect(guessed(sample("Recorder 7"))).toMatchObject({
      time: 1,
      signals: [2],
      mark: "comma",
      firstRow: 4,
    });
  });
  it("is known again by its titles, not by its numbers", () => {
    expect(likeness(sample("Recorder 7"))).toBe(likeness(sample("Recorder 8")));
    const other = sample("Recorder 7");
    other.rows[1] = { line: 2, cells: ["no", "then", "what"] };
    expect(likeness(other)).not.toBe(likeness(sample("Recorder 7")));
  });
});
