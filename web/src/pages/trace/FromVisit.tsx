// A run that is kept in a visit: which visit, which run; under the method that the visit keeps.

import { useEffect, useState } from "preact/hooks";
import { bytes, get } from "../../api/client";
import { getTrace, nameTrace } from "../../api/desk";
import type { Problem, Standing, Step, TraceShown, VisitHead, Visits } from "../../api/types";
import { Wrong } from "../../parts/Wrong";
import { Dialog } from "../../shell/Dialog";
import { traceTexts } from "../../texts/trace";

const texts = traceTexts.visit;

interface KeptRun {
  sha256: string;
  says: string;
  basis: string;
}

const stepsOf = (standing: Standing): Step[] => standing.stages.flatMap((stage) => stage.steps);

function runsOf(standing: Standing): KeptRun[] {
  return stepsOf(standing)
    .filter((step) => step.wants === "run")
    .flatMap((step) =>
      step.evidence
        .filter((kept) => kept.sha256 && kept.standing !== "withdrawn")
        .map((kept) => ({
          sha256: kept.sha256 ?? "",
          says: `${step.name}: ${kept.value}`,
          basis: step.basis ?? "",
        })),
    );
}

/** The method that belongs to a run: of its basis, else the last that is kept. */
function methodOf(standing: Standing, basis: string): string | null {
  const kept = stepsOf(standing)
    .filter((step) => step.role === "method")
    .flatMap((step) =>
      step.evidence
        .filter((each) => each.sha256 && each.standing === "current")
        .map((each) => ({ basis: step.basis ?? "", sha256: each.sha256 ?? "" })),
    );
  return (kept.find((each) => each.basis === basis) ?? kept.at(-1))?.sha256 ?? null;
}

interface Props {
  close: () => void;
  opened: (trace: TraceShown) => void;
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
  const open = async (run: KeptRun) => {
    const plain = await getTrace(run.sha256);
    if (!plain.data || !standing) {
      setProblem(plain.problem);
      return;
    }
    let shown = plain.data;
    const method = methodOf(standing, run.basis);
    if (method) {
      const file = await bytes(`/api/v1/visits/${encodeURIComponent(visit)}/evidence/${method}`);
      const named = file.data ? await nameTrace(run.sha256, new TextDecoder().decode(file.data)) : null;
      if (named?.data) shown = named.data;
    }
    opened(shown);
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
            <li key={run.sha256}>
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
