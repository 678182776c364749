// The one thing to do now, with its caution, its reason and its fields; the steps of the stage under it.
import type { StageShown, Standing, Step } from "../../api/types";
import { StepMark } from "../../parts/StepMark";
import { visitTexts } from "../../texts/visit";
import { StepForm } from "./StepForm";
import type { VisitHandle } from "./useVisit";
import "./now-card.css";

const texts = visitTexts.now;

interface Props {
  handle: VisitHandle;
  visit: Standing;
  stage: StageShown;
  step: Step;
  choose: (step: string | null) => void;
  demo: preact.ComponentChildren;
}

function Cautions({ step, visit }: { step: Step; visit: Standing }) {
  const first = step === visit.stages[0]?.steps[0];
  return (
    <>
      {first &&
        visit.cautions.map((caution) => (
          <p key={caution} class="caution">
            {caution}
          </p>
        ))}
      {step.caution && <p class="caution">{step.caution}</p>}
    </>
  );
}

function Steps({ stage, step, choose }: Pick<Props, "stage" | "step" | "choose">) {
  return (
    <ol class="steps" aria-label={texts.steps}>
      {stage.steps.map((each) => (
        <li key={each.name}>
          <button
            type="button"
            class="step"
            aria-current={each.name === step.name ? "step" : undefined}
            onClick={() => choose(each.name)}
          >
            <StepMark state={each.state} />
            <span class="step-name">{each.name}</span>
            <span class="soft small">{visitTexts.evidence.state[each.state]}</span>
          </button>
        </li>
      ))}
    </ol>
  );
}

export function NowCard({ handle, visit, stage, step, choose, demo }: Props) {
  const at = visit.stages.indexOf(stage) + 1;
  const isNow = visit.now?.step === step.name;
  const title = isNow ? texts.title : texts.chosen;
  return (
    <section class="sheet now" aria-labelledby="now-title">
      <header>
        <h2 id="now-title" class="soft">
          {title(at, visit.stages.length, stage.title)}
        </h2>
        {!isNow && visit.now && (
          <button type="button" class="quiet more" onClick={() => choose(null)}>
            {texts.back}
          </button>
        )}
      </header>
      <h3 class="what">{step.what}</h3>
      <p class="soft">
        {texts.why}: {step.why}
      </p>
      <Cautions step={step} visit={visit} />
      <p class="tags small soft">
        <span class={step.class === "safety" ? "tag tag-safety" : "tag"}>{texts[step.class]}</span>
        {step.who && (
          <span class="tag">
            {texts.who} {step.who.join(", ")}
          </span>
        )}
        <span>{step.minutes} min</span>
      </p>
      {step.waits_for.length > 0 && (
        <p class="waits">
          {texts.waits}{" "}
          {step.waits_for.map((name) => (
            <button key={name} type="button" class="quiet" onClick={() => choose(name)}>
              {name}
            </button>
          ))}
        </p>
      )}
      {demo}
      <StepForm
        key={step.name}
        handle={handle}
        visit={visit}
        stage={stage}
        step={step}
        done={() => choose(null)}
      />
      <Steps stage={stage} step={step} choose={choose} />
    </section>
  );
}
