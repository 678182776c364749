import type { SumAnswer, SumResult, SumUnit } from "../../api/types";
import { decimalsFor, fixed, powerText, short, unitAsIs } from "../../lib/format";
import { unitsOf } from "../../lib/sums";
import { FindingList } from "../../parts/FindingList";
import { VerdictMark } from "../../parts/VerdictMark";
import { sumsTexts as texts } from "../../texts/sums";

// The reader chooses the unit of a result here, so it is shown as it came and not turned once more.
function valueText({ value, u }: SumResult): string {
  if (value === null) return "no value";
  const around = 2 * (u ?? 0);
  const size = Math.max(Math.abs(value), around);
  if (size > 0 && (size < 1e-3 || size >= 1e7)) return powerText(value, around);
  if (!(around > 0)) return short(value, 5);
  const n = decimalsFor(around);
  return `${fixed(value, n)} \u00b1 ${fixed(around, n)}`;
}

interface Props {
  answer: SumAnswer;
  units: SumUnit[];
  show: (key: string, unit: string) => void;
}

export function Results({ answer, units, show }: Props) {
  return (
    <>
      {answer.verdict && (
        <p class="sum-verdict">
          <VerdictMark verdict={answer.verdict} />
        </p>
      )}
      <dl class="sum-results">
        {answer.results.map((result, i) => {
          const choices = result.dimension === "number" ? [] : unitsOf(units, result.dimension);
          return (
            <div key={result.key} class={i === 0 ? "is-first" : ""}>
              <dt>{result.title}</dt>
              <dd>
                <output>{valueText(result)}</output>
                {choices.length > 1 && choices.includes(result.unit) ? (
                  <select
                    value={result.unit}
                    aria-label={`${texts.unit} ${result.title}`}
                    onChange={(event) => show(result.key, event.currentTarget.value)}
                  >
                    {choices.map((unit) => (
                      <option key={unit} value={unit}>
                        {unit === "1" ? "" : unitAsIs(unit)}
                      </option>
                    ))}
                  </select>
                ) : (
                  <span>{result.unit === "1" ? "" : unitAsIs(result.unit)}</span>
                )}
              </dd>
            </div>
          );
        })}
      </dl>
      {answer.results.some((result) => (result.u ?? 0) > 0) && <p class="soft small">{texts.twice}</p>}
      {answer.findings.length > 0 && <FindingList findings={answer.findings} />}
      {answer.warnings.map((warning) => (
        <p key={warning} class="soft small">
          {warning}
        </p>
      ))}
    </>
  );
}
