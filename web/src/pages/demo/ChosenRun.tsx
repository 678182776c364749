import type { RunLine } from "../../api/types";
import { basisWord, stepped } from "../../lib/choose";
import { clock, formatted, limitText } from "../../lib/format";
import { VerdictMark } from "../../parts/VerdictMark";

interface Props {
  runs: RunLine[];
  run: RunLine;
  choose: (id: string) => void;
}

export function ChosenRun({ runs, run, choose }: Props) {
  const { finding } = run;
  const before = stepped(runs, run.id, "ArrowLeft");
  const after = stepped(runs, run.id, "ArrowRight");
  return (
    <div class="chosen">
      <div class="facts" aria-live="polite">
        <strong>{run.title}</strong>
        <VerdictMark verdict={run.verdict} />
        <span>
          {basisWord[run.basis]}, {clock(run.at)}, {run.module}
        </span>
        <span>
          calorific value <b>{formatted({ ...run.cv, decimals: 3 })}</b>
        </span>
        {run.gas === "line" ? (
          <span class="soft">{finding.note}</span>
        ) : (
          <span>
            {run.gas === "proving" ? "against its certificate" : "against what it was told"}{" "}
            <b>{formatted({ ...finding, expanded: (finding.u ?? 0) * finding.k })}</b>
            <span class="soft">, limit {limitText(finding.low, finding.high, finding.unit)}</span>
          </span>
        )}
      </div>
      <div class="buttons">
        <button type="button" disabled={before === run.id} onClick={() => before && choose(before)}>
          <span aria-hidden="true">← </span>Earlier
        </button>
        <button type="button" disabled={after === run.id} onClick={() => after && choose(after)}>
          Later<span aria-hidden="true"> →</span>
        </button>
      </div>
    </div>
  );
}
