// The report as a table to type in. Pasting into a cell fills the cells from there on.

import type { Fault } from "../../api/types";
import { saidOf } from "../../lib/problem";
import {
  type Column,
  cellsOf,
  columns,
  emptyRow,
  faultyColumn,
  type Heading,
  pasted,
  type Row,
} from "../../lib/report";
import { lookTexts as texts } from "../../texts/look";

interface Props {
  rows: Row[];
  heading: Heading;
  faults: Fault[];
  /** The row that each line of the text holds. */
  rowOfLine: (number | null)[];
  put: (rows: Row[]) => void;
  putHeading: (heading: Heading) => void;
}

export function Grid({ rows, heading, faults, rowOfLine, put, putHeading }: Props) {
  const faultOf = new Map<number, Fault>();
  const elsewhere: Fault[] = [];
  for (const fault of faults) {
    const row = fault.line === null ? null : rowOfLine[fault.line - 1];
    if (row == null) elsewhere.push(fault);
    else faultOf.set(row, fault);
  }
  const change = (row: number, column: Column, value: string) => {
    const next = rows.map((each, i) => (i === row ? { ...each, [column]: value } : each));
    // There is always one empty row to go on in.
    if (row === rows.length - 1) next.push(emptyRow());
    put(next);
  };
  return (
    <div class="column">
      <section class="scroll" aria-label={texts.text} tabIndex={0}>
        <table class="grid">
          <thead>
            <tr>
              {columns.map((column) => (
                <th key={column} scope="col">
                  {texts.columns[column]}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.map((row, i) => {
              const fault = faultOf.get(i);
              const wrong = fault ? faultyColumn(row, fault.what) : null;
              return (
                <tr key={i}>
                  {columns.map((column, j) => (
                    <td key={column}>
                      <input
                        value={row[column]}
                        aria-label={`${texts.row(i + 1)}, ${texts.columns[column]}`}
                        aria-invalid={wrong === column}
                        aria-describedby={wrong === column ? `fault-${i}` : undefined}
                        inputMode={column === "component" ? "text" : "decimal"}
                        autocapitalize="off"
                        spellcheck={false}
                        onInput={(event) => change(i, column, event.currentTarget.value)}
                        onPaste={(event) => {
                          const cells = cellsOf(event.clipboardData?.getData("text") ?? "");
                          if (cells.length < 2 && (cells[0]?.length ?? 0) < 2) return;
                          event.preventDefault();
                          put(pasted(rows, cells, i, j));
                        }}
                      />
                      {wrong === column && fault && (
                        <p id={`fault-${i}`} class="wrong cell-fault" role="alert">
                          {saidOf(fault)}
                        </p>
                      )}
                    </td>
                  ))}
                </tr>
              );
            })}
          </tbody>
        </table>
      </section>
      {elsewhere.map((fault) => (
        <p key={fault.what} class="wrong" role="alert">
          {saidOf(fault)}
        </p>
      ))}
      <div class="buttons">
        <button type="button" onClick={() => put([...rows, emptyRow()])}>
          {texts.addRow}
        </button>
      </div>
      <details>
        <summary>{texts.more}</summary>
        <div class="fields">
          <label>
            <span>{texts.heading.factor_kind}</span>
            <select
              value={heading.factor_kind}
              onChange={(event) => putHeading({ ...heading, factor_kind: event.currentTarget.value })}
            >
              {texts.kinds.map(([value, says]) => (
                <option key={value} value={value}>
                  {says}
                </option>
              ))}
            </select>
          </label>
          {(["printed_cv", "unnormalised_total"] as const).map((key) => (
            <label key={key}>
              <span>{texts.heading[key]}</span>
              <input
                value={heading[key]}
                inputMode="decimal"
                onInput={(event) => putHeading({ ...heading, [key]: event.currentTarget.value })}
              />
            </label>
          ))}
        </div>
      </details>
    </div>
  );
}
