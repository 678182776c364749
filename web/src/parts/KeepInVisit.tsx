// What was worked out, drawn or decided becomes evidence of a visit: which visit, which step, who; and undo.

import { useEffect, useState } from "preact/hooks";
import { type Answer, address, get, getStart, post, upload } from "../api/client";
import type { Act, OpenVisit, Problem, Standing, Step } from "../api/types";
import { saidOf } from "../lib/problem";
import { Dialog } from "../shell/Dialog";
import { settings } from "../shell/settings";
import { complain, say } from "../shell/toast";
import { keepTexts as texts } from "../texts/keep";
import { Wrong } from "./Wrong";
import "./keep.css";

export interface Kept {
  name: string;
  text: string;
  /** One sentence of what it says, for the note. */
  says?: string;
}

interface Props {
  title: string;
  says: string;
  /** Made when it is recorded, with who records. */
  file: (by: string) => Promise<Answer<Kept>>;
  /** Whether a step asks for just this file; else it is kept beside the step. */
  fits: (step: Step) => boolean;
  /** Where it came from: that visit and step stand chosen, unless a step asks for just this. */
  near?: { visit: string; step: string } | null;
  disabled?: boolean;
  /** Told of what was recorded. */
  recorded?: () => void;
}

const visitPath = (id: string) => `/api/v1/visits/${encodeURIComponent(id)}`;

function undo(visit: string, entry: number) {
  post<Act>(`${visitPath(visit)}/undo`, { entry, reason: texts.undoReason, by: settings.get().name }).then(
    ({ problem }) => (problem ? complain(saidOf(problem)) : say(texts.undone)),
  );
}

function Form({ open, ...props }: Props & { open: OpenVisit[]; close: () => void }) {
  const came = open.find((each) => each.visit === props.near?.visit);
  const [visit, setVisit] = useState((came ?? open[0])?.visit ?? "");
  const [standing, setStanding] = useState<Standing | null>(null);
  const [step, setStep] = useState("");
  const [by, setBy] = useState(settings.get().name);
  const [note, setNote] = useState("");
  const [busy, setBusy] = useState(false);
  const [problem, setProblem] = useState<Problem | null>(null);
  const load = (then?: () => void) =>
    get<Standing>(visitPath(visit)).then((answer) => {
      setStanding(answer.data);
      if (answer.problem) setProblem(answer.problem);
      if (!answer.data) return;
      const steps = answer.data.stages.flatMap((stage) => stage.steps);
      const from = visit === props.near?.visit ? props.near.step : undefined;
      const first = steps.find(props.fits)?.name ?? from ?? answer.data.now?.step ?? steps[0]?.name ?? "";
      setStep((now) => (steps.some((each) => each.name === now) ? now : first));
      then?.();
    });
  useEffect(() => {
    if (visit) load();
  }, [visit]);
  const stage = standing?.stages.find((each) => each.steps.some((one) => one.name === step));
  const chosen = stage?.steps.find((one) => one.name === step);
  const settles = chosen !== undefined && props.fits(chosen);
  const record = async () => {
    if (!standing || !stage) return;
    setBusy(true);
    setProblem(null);
    const made = await props.file(by);
    if (made.problem) {
      setBusy(false);
      setProblem(made.problem);
      return;
    }
    const says = [made.data.says, note].filter((part) => part?.trim()).join(" ");
    const reply = await upload<Act>(
      address(`${visitPath(visit)}/file`, {
        stage: stage.name,
        step,
        as: settles ? "file" : "aside",
        name: made.data.name,
        note: says,
        by,
        seen: String(standing.last_entry),
      }),
      new Blob([made.data.text]),
    );
    setBusy(false);
    if (reply.data) {
      const entry = reply.data.recorded.entry;
      say(texts.done(step), () => undo(visit, entry));
      props.recorded?.();
      props.close();
      return;
    }
    if (reply.problem.code === "grown")
      load(() => setProblem({ ...reply.problem, mend: texts.grown("Somebody") }));
    else setProblem(reply.problem);
  };
  return (
    <form
      class="column"
      onSubmit={(event) => {
        event.preventDefault();
        record();
      }}
    >
      <p>{props.says}</p>
      <label>
        <span>{texts.visit}</span>
        <select value={visit} onChange={(event) => setVisit(event.currentTarget.value)}>
          {open.map((each) => (
            <option key={each.visit} value={each.visit}>
              {each.analyser}, {each.visit}
              {each.invented ? ` (${texts.invented})` : ""}
            </option>
          ))}
        </select>
      </label>
      <label>
        <span>{texts.step}</span>
        <select value={step} onChange={(event) => setStep(event.currentTarget.value)}>
          {standing?.stages.map((each) => (
            <optgroup key={each.name} label={each.title}>
              {each.steps.map((one) => (
                <option key={one.name} value={one.name}>
                  {one.name}
                </option>
              ))}
            </optgroup>
          ))}
        </select>
        <small class="soft">{settles ? texts.settles : texts.aside}</small>
      </label>
      <label>
        <span>{texts.note}</span>
        <input value={note} maxLength={400} onInput={(event) => setNote(event.currentTarget.value)} />
      </label>
      <label>
        <span>{texts.by}</span>
        <input
          value={by}
          maxLength={80}
          placeholder={texts.device}
          onInput={(event) => setBy(event.currentTarget.value)}
        />
      </label>
      <Wrong problem={problem} />
      <div class="buttons">
        <button type="submit" class="main" disabled={busy || !standing || step === ""}>
          {busy ? texts.going : texts.go}
        </button>
      </div>
    </form>
  );
}

export function KeepInVisit(props: Props) {
  const [open, setOpen] = useState<OpenVisit[] | null>(null);
  const [shown, setShown] = useState(false);
  const begin = () =>
    getStart().then(({ data, problem }) => {
      if (problem) complain(saidOf(problem));
      setOpen(data?.open ?? []);
      setShown(data !== null);
    });
  return (
    <>
      <button type="button" class="keep-button" disabled={props.disabled} onClick={begin}>
        {texts.button}
      </button>
      {shown && open && (
        <Dialog title={props.title} onClose={() => setShown(false)}>
          {open.length === 0 ? (
            <p>{texts.none}</p>
          ) : (
            <Form {...props} open={open} close={() => setShown(false)} />
          )}
        </Dialog>
      )}
    </>
  );
}
