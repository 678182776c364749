// A run that is kept in a visit: which visit, which run; under the method that the visit keeps.

import type { Standing, TraceShown } from "../../api/types";
import { type RunOfVisit, runsOf } from "../../lib/visitRuns";
import { useChosenVisit, VisitChoice } from "../../parts/ChosenVisit";
import { Wrong } from "../../parts/Wrong";
import { Dialog } from "../../shell/Dialog";
import { traceTexts } from "../../texts/trace";
import { openRun } from "./openRun";

const texts = traceTexts.visit;

interface Props {
  close: () => void;
  opened: (visit: Standing, run: RunOfVisit, trace: TraceShown) => void;
}

export function FromVisit({ close, opened }: Props) {
  const of = useChosenVisit();
  const { standing, problem, setProblem } = of;
  const open = async (run: RunOfVisit) => {
    if (!standing) return;
    const answer = await openRun(standing, run);
    setProblem(answer.problem);
    if (!answer.data) return;
    opened(standing, run, answer.data);
    close();
  };
  const runs = standing ? runsOf(standing) : [];
  return (
    <Dialog title={texts.title} onClose={close}>
      <div class="column">
        <VisitChoice of={of} label={texts.visit} none={texts.none} />
        {standing && runs.length === 0 && <p>{texts.noRuns}</p>}
        <ul class="kept-runs">
          {runs.map((run) => (
            <li key={run.entry}>
              <button type="button" onClick={() => open(run)}>
                {run.says}
              </button>
            </li>
          ))}
        </ul>
        <Wrong problem={problem} />
      </div>
    </Dialog>
  );
}
