import { useState } from "preact/hooks";
import { address, upload } from "../../api/client";
import type { Converted, TableSample } from "../../api/types";
import { guessed, type Picked, remember } from "../../lib/picked";
import { saidOf } from "../../lib/problem";
import { Choices } from "../../parts/Choices";
import { WrongWords } from "../../parts/Wrong";
import { Dialog } from "../../shell/Dialog";
import { filesTexts } from "../../texts/files";

const texts = filesTexts.columns;

/** The table as a run of our own form, or what is wrong with the choice. */
export async function converted(file: File, sample: TableSample, picked: Picked): Promise<File | string> {
  const answer = await upload<Converted>(
    address("/api/v1/files/convert", {
      name: file.name,
      delimiter: sample.delimiter,
      mark: picked.mark,
      first_row: String(picked.firstRow),
      time: String(picked.time),
      time_unit: picked.timeUnit,
      signals: picked.signals.join(","),
      unit: picked.unit,
    }),
    file,
  );
  if (!answer.data) return `${saidOf(answer.problem)} (${answer.problem.where})`;
  return new File([answer.data.text], answer.data.name, { type: "text/csv" });
}

interface Props {
  file: File;
  sample: TableSample;
  close: () => void;
  made: (run: File) => void;
}

export function ColumnPicker({ file, sample, close, made }: Props) {
  const [picked, setPicked] = useState<Picked>(() => guessed(sample));
  const [problem, setProblem] = useState<string | null>(null);
  const change = (part: Partial<Picked>) => setPicked({ ...picked, ...part });
  const role = (column: number) =>
    column === picked.time ? "time" : picked.signals.includes(column) ? "signal" : "neither";
  const put = (column: number, next: string) => {
    const signals = picked.signals.filter((each) => each !== column);
    if (next === "signal") signals.push(column);
    change({
      time: next === "time" ? column : picked.time === column ? -1 : picked.time,
      signals: signals.sort(),
    });
  };
  const use = async () => {
    const run = await converted(file, sample, picked);
    if (typeof run === "string") return setProblem(run);
    remember(sample, picked);
    made(run);
  };
  const columns = Array.from({ length: sample.width }, (_, i) => i);
  return (
    <Dialog title={texts.title} onClose={close} wide>
      <p>{texts.says}</p>
      <section class="scroll" aria-label={file.name} tabindex={0}>
        <table class="picker">
          <thead>
            <tr>
              <th scope="col">{texts.line}</th>
              {columns.map((column) => (
                <th key={column} scope="col">
                  <select
                    aria-label={texts.column(column + 1)}
                    value={role(column)}
                    onChange={(event) => put(column, event.currentTarget.value)}
                  >
                    <option value="neither">{texts.neither}</option>
                    <option value="time">{texts.time}</option>
                    <option value="signal">{texts.signal}</option>
                  </select>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {sample.rows.slice(0, 12).map((row) => (
              <tr key={row.line} class={row.line < picked.firstRow ? "above" : ""}>
                <th scope="row">{row.line}</th>
                {columns.map((column) => (
                  <td key={column} class={`as-${role(column)}`}>
                    {row.cells[column] ?? ""}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <div class="fields">
        <label>
          <span>{texts.first}</span>
          <input
            inputMode="numeric"
            value={String(picked.firstRow)}
            onInput={(event) => change({ firstRow: Number(event.currentTarget.value) || 1 })}
          />
        </label>
        <label>
          <span>{texts.timeUnit}</span>
          <select
            value={picked.timeUnit}
            onChange={(event) => change({ timeUnit: event.currentTarget.value })}
          >
            {["s", "min", "ms", "h"].map((unit) => (
              <option key={unit}>{unit}</option>
            ))}
          </select>
        </label>
        <label>
          <span>{texts.unit}</span>
          <input value={picked.unit} onInput={(event) => change({ unit: event.currentTarget.value })} />
        </label>
      </div>
      <Choices
        legend={texts.mark}
        choices={[
          ["point", texts.point],
          ["comma", texts.comma],
        ]}
        chosen={picked.mark}
        choose={(mark) => change({ mark })}
      />
      <WrongWords says={problem} />
      <button
        type="button"
        class="main"
        disabled={picked.time < 0 || picked.signals.length === 0}
        onClick={use}
      >
        {texts.use}
      </button>
    </Dialog>
  );
}
