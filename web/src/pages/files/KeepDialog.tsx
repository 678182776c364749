// Where a dropped file belongs: an open visit, a stage, a step of it.

import { useEffect, useState } from "preact/hooks";
import { address, get, getStart, upload } from "../../api/client";
import type { Act, FileKind, OpenVisit, Standing, Step } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { WrongWords } from "../../parts/Wrong";
import { Dialog } from "../../shell/Dialog";
import { settings } from "../../shell/settings";
import { say } from "../../shell/toast";
import { filesTexts as texts } from "../../texts/files";

/** Whether a file of that kind is what the step asks for. */
export function suits(step: Pick<Step, "wants" | "role">, kind: FileKind["kind"]): boolean {
  if (kind === "trace" || kind === "report") return step.wants === "run";
  if (kind === "cylinder") return step.role === "calibration_cylinder" || step.role === "proving_cylinder";
  if (kind === "method") return step.role === "method";
  if (kind === "calibration") return step.role === "calibration";
  if (kind === "series") return step.role === "settling_series";
  return step.wants === "file" && (step.role === undefined || step.role.startsWith("settings"));
}

interface Props {
  file: File;
  kind: FileKind["kind"];
  close: () => void;
  done: () => void;
}

export function KeepDialog({ file, kind, close, done }: Props) {
  const [open, setOpen] = useState<OpenVisit[] | null>(null);
  const [visit, setVisit] = useState<Standing | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const choose = (id: string) => {
    get<Standing>(`/api/v1/visits/${encodeURIComponent(id)}`).then(({ data }) => setVisit(data));
  };
  useEffect(() => {
    getStart().then(({ data }) => {
      setOpen(data?.open ?? []);
      const only = data?.open[0];
      if (only) choose(only.visit);
    });
  }, []);
  const keepIt = async (stage: string, step: string) => {
    if (!visit) return;
    const as = kind === "trace" || kind === "report" ? "run" : kind === "picture" ? "aside" : "file";
    const answer = await upload<Act>(
      address(`/api/v1/visits/${encodeURIComponent(visit.visit)}/file`, {
        stage,
        step,
        as,
        name: file.name,
        by: settings.get().name,
      }),
      file,
    );
    if (!answer.data) return setProblem(saidOf(answer.problem));
    say(texts.kept(file.name, step));
    done();
  };
  return (
    <Dialog title={texts.keepTitle} onClose={close}>
      {open?.length === 0 && (
        <p>
          {texts.noVisit} <a href="/visits">{texts.toVisits}</a>
        </p>
      )}
      {open && open.length > 0 && (
        <label>
          <span>{texts.visit}</span>
          <select value={visit?.visit ?? ""} onChange={(event) => choose(event.currentTarget.value)}>
            {open.map((each) => (
              <option key={each.visit} value={each.visit}>
                {each.visit}
              </option>
            ))}
          </select>
        </label>
      )}
      <WrongWords says={problem} />
      {visit && (
        <ul class="keep-steps">
          {visit.stages.flatMap((stage) =>
            stage.steps
              .filter((step) => (kind === "picture" ? step.state === "open" : suits(step, kind)))
              .map((step) => (
                <li key={step.name}>
                  <button type="button" onClick={() => keepIt(stage.name, step.name)}>
                    {stage.name}: {step.name}
                  </button>
                </li>
              )),
          )}
        </ul>
      )}
    </Dialog>
  );
}
