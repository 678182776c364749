// A run that is kept in a visit: which visit, which run; under the method that the visit keeps.

import { useEffect, useState } from "preact/hooks";
import { get } from "../../api/client";
import type { Problem, Standing, TraceShown, VisitHead, Visits } from "../../api/types";
import { type RunOfVisit, runsOf } from "../../lib/visitRuns";
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
  const [visits, setVisits] = useState<VisitHead[] | null>(null);
  const [visit, setVisit] = useState("");
  const [standing, setStanding] = useState<Standing | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  useEffect(() => {
    get<Visits>("/api/v1/visits").then((answer) => {
      setProblem(answer.problem);
      setVisits(answer.data?.visits ?? []);
      setVisit(answer.data?.visits[0]?.visit ?? "");
    });
  }, []);
  useEffect(() => {
    if (visit === "") return;
    setStanding(null);
    get<Standing>(`/api/v1/visits/${encodeURIComponent(visit)}`).then((answer) => {
      setProblem(answer.problem);
      setStanding(answer.data);
    });
  }, [visit]);
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
        {visits?.length === 0 && <p>{texts.none}</p>}
        {visits && visits.length > 0 && (
          <label>
            <span>{texts.visit}</span>
            <select value={visit} onChange={(event) => setVisit(event.currentTarget.value)}>
              {visits.map((each) => (
                <option key={each.visit} value={each.visit}>
                  {each.analyser}, {each.visit}
                </option>
              ))}
            </select>
          </label>
        )}
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
