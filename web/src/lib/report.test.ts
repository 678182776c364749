import { describe, expect, it } from "vitest";
import { cellsOf, emptyHeading, emptyRow, faultyColumn, pasted, quoted, textOf } from "./report";

const row = (component: string, mole_percent: string, area = "") => ({
  ...emptyRow(),
  component,
  mole_percent,
  area,
});

describe("textOf", () => {
  it("writes the columns that are used, and knows which line is which row", () => {
    const { text, rowOfLine } = textOf([row("methane", "90"), emptyRow(), row("ethane", "10,5")], {
      ...emptyHeading(),
      printed_cv: "39.1",
    });
    expect(text).toBe("# printed_cv: 39.1\ncomponent;mole_percent\nmethane;90\nethane;10,5\n");
    expect(rowOfLine).toEqual([null, null, 0, 2]);
  });
  it("keeps a semicolon from making another cell", () => {
    expect(textOf([row("meth;ane", "90")], emptyHeading()).text).toContain("meth ane;90");
  });
});

describe("paste", () => {
  it("takes tabs, semicolons and commas", () => {
    expect(cellsOf("methane\t90,1\r\nethane\t5\n")).toEqual([
      ["methane", "90,1"],
      ["ethane", "5"],
    ]);
    expect(cellsOf("methane;90,1")).toEqual([["methane", "90,1"]]);
    expect(cellsOf("methane, 90.1\n\n")).toEqual([["methane", "90.1"]]);
  });
  it("lays cells from where it happened, and grows the grid", () => {
    const out = pasted([row("a", "1")], [["2", "3"], ["4"]], 0, 2);
    expect(out[0]).toMatchObject({ component: "a", area: "2", mole_percent: "3" });
    expect(out[1]).toMatchObject({ component: "", area: "4" });
    expect(pasted([], [["x", "1", "2", "3", "4", "5", "6"]], 0, 0)[0]?.factor).toBe("4");
  });
});

describe("faults", () => {
  it("point at the cell that they quote", () => {
    expect(quoted('"88.o" is not a finite number.')).toBe("88.o");
    expect(faultyColumn(row("methane", "88.o"), '"88.o" is not a finite number.')).toBe("mole_percent");
    expect(faultyColumn(row("gold", "1"), '"gold" is no component.')).toBe("component");
    expect(faultyColumn(row("methane", "1"), "The row is doubled.")).toBe("component");
  });
});
