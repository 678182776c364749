// A printed report as a grid of cells, and as the text that the program reads. No sums.

export const columns = ["component", "retention", "area", "mole_percent", "factor"] as const;
export type Column = (typeof columns)[number];
export type Row = Record<Column, string>;

export const emptyRow = (): Row => ({ component: "", retention: "", area: "", mole_percent: "", factor: "" });

/** What a report says besides its rows. */
export interface Heading {
  factor_kind: string;
  printed_cv: string;
  unnormalised_total: string;
}
export const emptyHeading = (): Heading => ({ factor_kind: "", printed_cv: "", unnormalised_total: "" });

const isEmpty = (row: Row) => columns.every((column) => row[column].trim() === "");

/** The text of a grid, and the row of the grid that each of its lines holds (null: none). */
export function textOf(rows: Row[], heading: Heading): { text: string; rowOfLine: (number | null)[] } {
  const lines: string[] = [];
  const rowOfLine: (number | null)[] = [];
  for (const [key, value] of Object.entries(heading))
    if (value.trim() !== "") {
      lines.push(`# ${key}: ${value.trim()}`);
      rowOfLine.push(null);
    }
  const used = columns.filter(
    (column) => column === "component" || rows.some((row) => row[column].trim() !== ""),
  );
  // With one column alone the reader would not know what the table is for.
  const shown = used.length > 1 ? used : (["component", "mole_percent"] as Column[]);
  lines.push(shown.join(";"));
  rowOfLine.push(null);
  rows.forEach((row, index) => {
    if (isEmpty(row)) return;
    lines.push(shown.map((column) => row[column].trim().replaceAll(";", " ")).join(";"));
    rowOfLine.push(index);
  });
  return { text: `${lines.join("\n")}\n`, rowOfLine };
}

/** Cells that were pasted into a grid: rows by line, cells by tab, semicolon, or comma before a number. */
export function cellsOf(text: string): string[][] {
  const lines = text.split(/\r\n|\r|\n/).filter((line) => line.trim() !== "");
  const delimiter = ["\t", ";"].find((d) => lines.some((line) => line.includes(d))) ?? ",";
  return lines.map((line) => line.split(delimiter).map((cell) => cell.trim()));
}

/** Pasted cells laid into the grid from a row and a column on. */
export function pasted(rows: Row[], cells: string[][], row: number, column: number): Row[] {
  const out = rows.map((each) => ({ ...each }));
  cells.forEach((line, i) => {
    while (out.length <= row + i) out.push(emptyRow());
    line.forEach((cell, j) => {
      const name = columns[column + j];
      const target = out[row + i];
      if (name && target) target[name] = cell;
    });
  });
  return out;
}

/** The piece of a line that a fault quotes: '"88.o" is not a finite number.' */
export function quoted(what: string): string | null {
  return what.match(/"([^"]+)"/)?.[1] ?? null;
}

/** The cell of a row that a fault means: the one it quotes, else the component's. */
export function faultyColumn(row: Row, what: string): Column {
  const piece = quoted(what);
  return columns.find((column) => piece !== null && row[column].trim() === piece) ?? "component";
}
