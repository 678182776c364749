// The fields that one step asks for; what is half typed is kept.
import { useId, useState } from "preact/hooks";
import type { StageShown, Standing, Step, TypedPressure } from "../../api/types";
import { useDraft } from "../../lib/drafts";
import { limitText, typedNumber, unitName } from "../../lib/format";
import { standingEvidence } from "../../lib/visit";
import { useLazy } from "../../parts/useLazy";
import { peopleList } from "../../shell/People";
import { complain } from "../../shell/toast";
import { pressureTexts } from "../../texts/pressure";
import { visitTexts } from "../../texts/visit";
import { CertificateForm } from "./CertificateForm";
import { LeakTest } from "./LeakTest";
import { OtherWays } from "./OtherWays";
import { ReadBack } from "./ReadBack";
import type { VisitHandle } from "./useVisit";

const texts = visitTexts.form;
const most = 64 * 1024 * 1024;

export interface StepProps {
  handle: VisitHandle;
  visit: Standing;
  stage: StageShown;
  step: Step;
  /** It was recorded: on to what is to be done now. */
  done: () => void;
}

/** "2026-05-19T14:30" of a field, with this device's offset on that day. */
export function withOffset(local: string): string {
  const date = new Date(local);
  if (Number.isNaN(date.getTime())) return local;
  const minutes = -date.getTimezoneOffset();
  const two = (n: number) => String(Math.floor(Math.abs(n))).padStart(2, "0");
  return `${local}:00${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
}

function Files({ handle, stage, step, done, extra }: StepProps & { extra: Record<string, string> }) {
  const id = useId();
  const run = step.wants === "run";
  const [busy, setBusy] = useState(false);
  const hand = async (list: FileList | null) => {
    setBusy(true);
    let all = list !== null && list.length > 0;
    for (const file of list ?? []) {
      const query = { stage: stage.name, step: step.name, as: run ? "run" : "file", ...extra };
      if (file.size > most) complain(texts.tooLarge);
      all &&=
        file.size <= most &&
        (await handle.hand(file, query, step.name, texts.recorded(`${step.name}, ${file.name}`)));
      if (!all) break;
    }
    setBusy(false);
    if (all) done();
  };
  return (
    <label for={id} class="file">
      <span>{run ? texts.files : texts.file}</span>
      <input
        id={id}
        type="file"
        multiple={run}
        disabled={busy}
        onChange={(event) => {
          const input = event.currentTarget;
          hand(input.files).then(() => {
            input.value = "";
          });
        }}
      />
    </label>
  );
}

function Photo({ handle, stage, step }: StepProps) {
  const id = useId();
  return (
    <label for={id} class="button photo">
      {texts.photo}
      <input
        id={id}
        class="unseen"
        type="file"
        accept="image/png,image/jpeg,image/webp"
        capture="environment"
        onChange={(event) => {
          const input = event.currentTarget;
          const file = input.files?.[0];
          if (!file) return;
          if (file.size > most) complain(texts.tooLarge);
          else
            handle
              .hand(
                file,
                { stage: stage.name, step: step.name, as: "aside" },
                step.name,
                texts.kept(file.name),
              )
              .then(() => {
                input.value = "";
              });
        }}
      />
    </label>
  );
}

// Beside the certificate: how much of the gas is left.
function Pressure({ handle, stage, step, close }: StepProps & { close: () => void }) {
  const View = useLazy(() => import("../../parts/PressureForm"));
  const record = async (typed: TypedPressure) => {
    const body = { stage: stage.name, step: step.name, ...typed };
    const done = await handle.act("pressure", body, step.name, pressureTexts.recorded(step.name));
    return done ? null : texts.notRecorded;
  };
  return View && <View what={step.name} close={close} record={record} />;
}

export function StepForm(props: StepProps) {
  const { handle, visit, stage, step } = props;
  const { draft, put, clear, restored } = useDraft(`${visit.visit}.${step.name}`);
  const [busy, setBusy] = useState(false);
  const [window, setWindow] = useState<"certificate" | "read back" | "pressure" | null>(null);
  const certificate = step.role === "calibration_cylinder" || step.role === "proving_cylinder";
  const readBack = step.second_person_of !== undefined;
  const reading = step.wants === "reading";
  const number = reading || step.wants === "clock";
  const files = step.wants === "file" || step.wants === "run";
  const value = draft.value ?? "";
  const wrong = number && value.trim() !== "" && typedNumber(value) === null;
  const field = (name: string) => ({
    value: draft[name] ?? "",
    onInput: (event: { currentTarget: { value: string } }) => put(name, event.currentTarget.value),
  });
  const extra = {
    ...(draft.by ? { by: draft.by } : {}),
    ...(draft.at ? { at: withOffset(draft.at) } : {}),
    ...(draft.with ? { with: draft.with } : {}),
    ...(draft.stream ? { stream: draft.stream } : {}),
    ...(draft.note ? { note: draft.note } : {}),
  };

  const record = async (event: Event) => {
    event.preventDefault();
    const typed = number ? typedNumber(value) : null;
    const u = typedNumber(draft.u ?? "");
    const body: Record<string, unknown> = { stage: stage.name, step: step.name, ...extra };
    if (step.wants === "time" && value) body.value = withOffset(value);
    else if (value.trim() !== "") body.value = typed === null ? value : String(typed);
    if (reading && typed !== null) {
      body.unit = draft.unit || step.unit;
      if (u !== null) body.u = u;
    }
    setBusy(true);
    const done = await handle.act("record", body, step.name, texts.recorded(step.name));
    setBusy(false);
    if (!done) return;
    clear();
    props.done();
  };

  return (
    <form class="step-form" onSubmit={record}>
      {restored && (
        <p class="soft small restored">
          {texts.restored}{" "}
          <button type="button" class="quiet" onClick={clear}>
            {texts.drop}
          </button>
        </p>
      )}
      {number && (
        <div class="fields reading">
          <label>
            <span>{reading ? texts.reading : texts.offset}</span>
            <input inputMode="decimal" autocomplete="off" aria-invalid={wrong} {...field("value")} />
          </label>
          {reading && (
            <label>
              <span>{texts.unit}</span>
              <input autocomplete="off" placeholder={step.unit} {...field("unit")} />
            </label>
          )}
          {reading && (
            <label>
              <span>{texts.u}</span>
              <input inputMode="decimal" autocomplete="off" {...field("u")} />
            </label>
          )}
        </div>
      )}
      {reading && (step.low != null || step.high != null) && (
        <p class="small">
          {visitTexts.now.limit}: {limitText(step.low ?? null, step.high ?? null, step.unit ?? "")}
          {step.unit && unitName(step.unit) !== step.unit ? ` (${step.unit})` : ""}{" "}
          <span class="soft">{step.limit_source}</span>
        </p>
      )}
      {step.wants === "words" && !readBack && (
        <label>
          <span>{texts.value}</span>
          <textarea rows={2} {...field("value")} />
        </label>
      )}
      {step.wants === "time" && (
        <label>
          <span>{texts.time}</span>
          <input type="datetime-local" {...field("value")} />
        </label>
      )}
      {files && (
        <div class="fields">
          <Files {...props} extra={extra} />
          {step.gas === "line" && (
            <label>
              <span>{texts.stream}</span>
              <input inputMode="numeric" autocomplete="off" {...field("stream")} />
            </label>
          )}
        </div>
      )}
      <div class="buttons">
        {certificate && (
          <button type="button" class="main" onClick={() => setWindow("certificate")}>
            {texts.typed}
          </button>
        )}
        {certificate && standingEvidence(step) !== null && (
          <button type="button" onClick={() => setWindow("pressure")}>
            {pressureTexts.open}
          </button>
        )}
        {readBack && (
          <button type="button" class="main" onClick={() => setWindow("read back")}>
            {texts.readBack}
          </button>
        )}
        {!files && !readBack && (
          <button type="submit" class="main" disabled={busy || wrong || value.trim() === ""}>
            {texts.record}
          </button>
        )}
        <Photo {...props} />
      </div>
      <details>
        <summary>{texts.more}</summary>
        <div class="fields">
          <label>
            <span>{texts.by}</span>
            <input autocomplete="off" maxLength={80} list={peopleList} {...field("by")} />
          </label>
          <label>
            <span>{texts.at}</span>
            <input type="datetime-local" {...field("at")} />
          </label>
          <label>
            <span>{texts.instrument}</span>
            <input autocomplete="off" {...field("with")} />
          </label>
          <label>
            <span>{texts.note}</span>
            <input autocomplete="off" {...field("note")} />
          </label>
        </div>
      </details>
      {step.role === "leak_test" && <LeakTest {...props} />}
      <OtherWays {...props} by={draft.by ?? ""} clear={clear} />
      {window === "certificate" && <CertificateForm {...props} close={() => setWindow(null)} />}
      {window === "pressure" && <Pressure {...props} close={() => setWindow(null)} />}
      {window === "read back" && <ReadBack {...props} close={() => setWindow(null)} />}
    </form>
  );
}
