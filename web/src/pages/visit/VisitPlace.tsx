// A visit beside the analyser: the line of time, the card of what is to be done now, the evidence for it, and at the
// foot, always: can I sign?
import { useEffect, useState } from "preact/hooks";
import { get } from "../../api/client";
import type { KeptRun } from "../../api/types";
import { clock } from "../../lib/format";
import { saidOf } from "../../lib/problem";
import { firstStep, placed, stageFindings } from "../../lib/visit";
import { TracePanel } from "../../parts/TracePanel";
import { useLazy } from "../../parts/useLazy";
import { VerdictMark } from "../../parts/VerdictMark";
import { Dialog } from "../../shell/Dialog";
import type { PlaceProps } from "../../shell/places";
import { address } from "../../shell/route";
import { Say } from "../../shell/Shell";
import { shellTexts } from "../../texts/shell";
import { signTexts } from "../../texts/sign";
import { visitTexts as texts } from "../../texts/visit";
import { DemoHand } from "./DemoHand";
import { Evidence } from "./Evidence";
import { LeftBehind } from "./LeftBehind";
import { LineOfTime } from "./LineOfTime";
import { NowCard } from "./NowCard";
import { factorBases, type PictureProps, settles } from "./pictures";
import { SignDialog } from "./SignDialog";
import { SignFoot } from "./SignFoot";
import { StageFindings } from "./StageFindings";
import { type Grown, useVisit } from "./useVisit";
import { VisitActs } from "./VisitActs";
import { VisitHead } from "./VisitHead";
import "./visit.css";

const legend = ["meets", "fails", "unclear", "not_yet"] as const;

function GrownDialog({ grown }: { grown: Grown }) {
  return (
    <Dialog title={texts.grown.title} onClose={grown.drop}>
      <p>{texts.grown.says}</p>
      <ul>
        {grown.between.map((entry) => (
          <li key={entry.entry}>
            {entry.who}, {clock(entry.recorded)}: {entry.kind}
            {entry.step && `, ${entry.step}`}
          </li>
        ))}
      </ul>
      <button type="button" class="main" onClick={grown.again}>
        {texts.grown.again}
      </button>
    </Dialog>
  );
}

function useNow(): number {
  const [now, setNow] = useState(Date.now);
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), 30_000);
    return () => clearInterval(timer);
  }, []);
  return now;
}

// Pictures of evidence are large and belong to a few stages: each comes when its stage is looked at.
function Factors(props: PictureProps) {
  const View = useLazy(() => import("./FactorEvidence"));
  return View && <View {...props} />;
}

function Settling(props: PictureProps) {
  const View = useLazy(() => import("./SettlingPicture"));
  return View && <View {...props} />;
}

/** The run that the address asks to see: "/visit/PX-7-1?run=31". */
function askedRun(): number | null {
  const text = new URLSearchParams(address.get().query).get("run");
  return text !== null && /^\d+$/.test(text) ? Number(text) : null;
}

export function VisitView({ id }: { id: string }) {
  const handle = useVisit(id);
  const { visit, judged, problem, grown } = handle;
  const [chosenStep, setStep] = useState<string | null>(null);
  const chooseStep = (step: string | null) => {
    setStep(step);
    // Where it is to be done comes into view; the list it was chosen from may be far below.
    requestAnimationFrame(() => document.getElementById("now-title")?.scrollIntoView({ block: "nearest" }));
  };
  const [chosenRun, chooseRun] = useState<number | null>(askedRun);
  const [signing, setSigning] = useState(false);
  const device = useNow();
  if (!visit)
    return (
      problem && <Say title={texts.trouble} says={saidOf(problem)} act={[shellTexts.again, handle.reload]} />
    );
  // An invented visit lives on its own invented day.
  const now = visit.invented ? Date.parse(visit.clock) : device;
  const at = placed(visit, chosenStep) ?? firstStep(visit);
  const run = chosenRun ?? null;
  const line = judged?.line ?? null;
  const mark = line?.marks.find((each) => each.entry === run);
  const path = `/api/v1/visits/${encodeURIComponent(visit.visit)}/runs/`;
  const chooseStage = (name: string) => {
    const stage = visit.stages.find((each) => each.name === name);
    const step = stage?.steps.find((each) => each.state === "open") ?? stage?.steps[0];
    if (step) chooseStep(step.name);
  };
  // The other trace under the chosen one: the last as-found run on the same gas under one as left, and so on back.
  const before = mark
    ? line?.marks.filter(
        (each) => each.gas === mark.gas && each.stream === mark.stream && each.entry < mark.entry,
      )
    : undefined;
  const under = before?.[before.length - 1];
  const load = (entry: number) => (signal: AbortSignal) => get<KeptRun>(`${path}${entry}`, signal);
  return (
    <>
      <div class="frame">
        <VisitHead visit={visit} />
        <main class="column">
          <section class="sheet" aria-labelledby="line-title">
            <header>
              <h2 id="line-title">{texts.line.title}</h2>
              <span class="soft">{texts.line.says}</span>
              <span class="legend">
                {legend.map((verdict) => (
                  <VerdictMark key={verdict} verdict={verdict} />
                ))}
              </span>
            </header>
            {line ? (
              <LineOfTime
                visit={visit}
                line={line}
                now={now}
                chosen={run}
                choose={chooseRun}
                stage={at?.stage.name ?? null}
                chooseStage={chooseStage}
              />
            ) : (
              <div class="line-room" />
            )}
            <nav class="stages" aria-label={texts.now.every}>
              {visit.stages.map((stage) => (
                <button
                  key={stage.name}
                  type="button"
                  class={`stage stage-${stage.state}`}
                  aria-current={stage === at?.stage ? "step" : undefined}
                  onClick={() => chooseStage(stage.name)}
                >
                  {stage.name}
                  <span class="unseen"> {texts.evidence.state[stage.state]}</span>
                </button>
              ))}
            </nav>
          </section>
          <div class="beside">
            <div class="column">
              {visit.end && (
                <section class="sheet column tight">
                  <h2>{texts.now.ended(visit.end.as)}</h2>
                  <p class="soft">{texts.now.endedSays}</p>
                </section>
              )}
              {visit.state === "interrupted" && (
                <section class="sheet column tight">
                  <h2>{texts.now.interrupted}</h2>
                  <p>{visit.interrupted_because}</p>
                  <button
                    type="button"
                    class="main"
                    onClick={() => handle.act("resume", {}, null, texts.acts.resumed)}
                  >
                    {texts.now.resume}
                  </button>
                </section>
              )}
              {at && (
                <NowCard
                  handle={handle}
                  visit={visit}
                  stage={at.stage}
                  step={at.step}
                  choose={chooseStep}
                  demo={
                    <DemoHand
                      handle={handle}
                      visit={visit}
                      stage={at.stage}
                      step={at.step}
                      done={() => chooseStep(null)}
                    />
                  }
                />
              )}
              <VisitActs handle={handle} visit={visit} />
            </div>
            <div class="column">
              {mark && (
                <TracePanel
                  of={`${visit.visit} ${mark.entry}`}
                  load={load(mark.entry)}
                  place={`/trace?visit=${encodeURIComponent(visit.visit)}&entry=${mark.entry}`}
                  under={under ? { of: `${visit.visit} ${under.entry}`, load: load(under.entry) } : null}
                />
              )}
              {at && judged && <StageFindings findings={stageFindings(at.stage, judged.findings)} />}
              {at && judged && factorBases(at.stage, judged.findings).length > 0 && (
                <Factors
                  visit={visit.visit}
                  last={judged.last_entry}
                  bases={factorBases(at.stage, judged.findings)}
                  now={now}
                />
              )}
              {at && judged && settles(at.stage) && (
                <Settling
                  visit={visit.visit}
                  last={judged.last_entry}
                  bases={[]}
                  now={visit.end ? null : now}
                />
              )}
              {at && (
                <Evidence
                  handle={handle}
                  visit={visit}
                  stage={at.stage}
                  chosenRun={run}
                  chooseRun={chooseRun}
                />
              )}
              {judged && <LeftBehind visit={visit} signatures={judged.signatures} />}
              {judged && judged.warnings.length > 0 && (
                <details class="sheet">
                  <summary>{texts.warnings(judged.warnings.length)}</summary>
                  <ul>
                    {judged.warnings.map((warning) => (
                      <li key={warning}>{warning}</li>
                    ))}
                  </ul>
                </details>
              )}
            </div>
          </div>
          <p class="soft small">{texts.noLeave}</p>
        </main>
      </div>
      <SignFoot
        judged={judged}
        stale={judged !== null && judged.last_entry < visit.last_entry}
        choose={(step) => placed(visit, step) && chooseStep(step)}
      >
        {judged && (
          <button type="button" class="main" onClick={() => setSigning(true)}>
            {signTexts.open}
          </button>
        )}
      </SignFoot>
      {signing && judged && (
        <SignDialog visit={visit} judged={judged} close={() => setSigning(false)} signed={handle.reload} />
      )}
      {grown && <GrownDialog grown={grown} />}
    </>
  );
}

export default function VisitPlace({ params }: PlaceProps) {
  return <VisitView id={params.id ?? ""} />;
}
