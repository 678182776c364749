// What was recorded in a stage, newest thing standing first in its step; each can be taken back.
import type { Kept, StageShown, Standing } from "../../api/types";
import { clock, day, formatted } from "../../lib/format";
import { StepMark } from "../../parts/StepMark";
import { visitTexts } from "../../texts/visit";
import type { VisitHandle } from "./useVisit";
import "./evidence.css";

const texts = visitTexts.evidence;

const picture = /\.(png|jpe?g|webp)$/i;

function said(kept: Kept): string {
  if (typeof kept.value === "number")
    return formatted({ value: kept.value, unit: kept.unit ?? "", expanded: kept.u ? 2 * kept.u : null });
  return kept.value;
}

interface Props {
  handle: VisitHandle;
  visit: Standing;
  stage: StageShown;
  chosenRun: number | null;
  chooseRun: (entry: number) => void;
}

function One({ kept, visit, handle, chosenRun, chooseRun }: Omit<Props, "stage"> & { kept: Kept }) {
  const file = kept.sha256
    ? `/api/v1/visits/${encodeURIComponent(visit.visit)}/evidence/${kept.sha256}`
    : null;
  const shown = typeof kept.value === "string" && file !== null && picture.test(kept.value);
  const away = kept.standing === "withdrawn" || kept.standing === "superseded";
  return (
    <li class={away ? "kept away" : "kept"}>
      <div class="kept-says">
        <span class="kept-value">{said(kept)}</span>
        {kept.stream && <span class="soft"> stream {kept.stream}</span>}
        <span class="soft small">
          {kept.by}, {clock(kept.at)}
          {kept.with && `, ${kept.with}`}
          {kept.at_trusted && kept.at_trusted !== kept.at && `; ${texts.trusted(clock(kept.at_trusted))}`}
          {kept.late && `; ${texts.late(`${day(kept.recorded)}, ${clock(kept.recorded)}`)}`}
          {kept.standing !== "current" && `; ${texts.standing[kept.standing]}`}
        </span>
        {kept.marks?.map((mark) => (
          <span key={mark} class="small is-unclear">
            {mark}
          </span>
        ))}
        {kept.note && <span class="small">{kept.note}</span>}
        {shown && file && (
          <a class="photo-link" href={file} target="_blank" rel="noopener">
            <img class="photo-kept" src={file} alt={`${texts.photo}: ${kept.value}`} loading="lazy" />
          </a>
        )}
      </div>
      <div class="buttons">
        {kept.kind === "run" && kept.standing === "current" && (
          <button type="button" aria-pressed={chosenRun === kept.entry} onClick={() => chooseRun(kept.entry)}>
            {texts.show}
          </button>
        )}
        {kept.kind === "run" && kept.sha256 && kept.standing === "current" && (
          <a
            class="button"
            href={`/trace?visit=${encodeURIComponent(visit.visit)}&entry=${kept.entry}`}
            aria-label={`${texts.trace}: ${said(kept)}`}
          >
            {texts.trace}
          </a>
        )}
        {file && !shown && kept.kind !== "run" && (
          <a class="button" href={file} download={String(kept.value)}>
            {texts.open}
          </a>
        )}
        {kept.standing !== "withdrawn" && !visit.end && (
          <button type="button" class="quiet" onClick={() => handle.undo(kept.entry)}>
            {texts.undo}
          </button>
        )}
      </div>
    </li>
  );
}

export function Evidence(props: Props) {
  const { stage } = props;
  const steps = stage.steps.filter((step) => step.evidence.length > 0 || step.state !== "open");
  return (
    <section class="sheet evidence" aria-labelledby="evidence-title">
      <header>
        <h2 id="evidence-title">{texts.title}</h2>
        <span class="soft">{stage.establishes}</span>
      </header>
      {steps.length === 0 && <p class="soft">{texts.none}</p>}
      {steps.map((step) => (
        <div key={step.name} class="evidence-step">
          <h3>
            <StepMark state={step.state} /> {step.name}{" "}
            <span class="soft small">{texts.state[step.state]}</span>
          </h3>
          {step.reason && (
            <p class="small">
              {step.reason}
              {step.second && `; ${step.second}, ${step.permit}`}
            </p>
          )}
          <ul>
            {step.evidence.map((kept) => (
              <One key={kept.entry} kept={kept} {...props} />
            ))}
          </ul>
        </div>
      ))}
    </section>
  );
}
