// In the invented visit only: hands in what the demonstration recorded.
import { useState } from "preact/hooks";
import type { StageShown, Standing, Step } from "../../api/types";
import { visitTexts } from "../../texts/visit";
import type { VisitHandle } from "./useVisit";

interface Props {
  handle: VisitHandle;
  visit: Standing;
  stage: StageShown;
  step: Step;
  done: () => void;
}

export function DemoHand({ handle, visit, stage, step, done }: Props) {
  const [busy, setBusy] = useState(false);
  if (!visit.invented || visit.end || stage.way_back) return null;
  const hand = async (body: Record<string, string>, news: string) => {
    setBusy(true);
    const handed = await handle.act("demo", body, step.name, news);
    setBusy(false);
    if (handed) done();
  };
  const open = stage.steps.filter((each) => each.state === "open").length;
  return (
    <div class="buttons demo-hand">
      {step.state === "open" && (
        <button
          type="button"
          disabled={busy}
          onClick={() => hand({ step: step.name }, visitTexts.form.recorded(step.name))}
        >
          {visitTexts.form.demo}
        </button>
      )}
      {open > 0 && (
        <button
          type="button"
          disabled={busy}
          onClick={() => hand({ stage: stage.name }, visitTexts.form.recorded(stage.name))}
        >
          {visitTexts.form.demoStage} ({open})
        </button>
      )}
    </div>
  );
}
