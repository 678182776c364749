// The second person types the amounts from the paper without seeing the first typing; only then are both compared.

import { useEffect, useState } from "preact/hooks";
import { bytes } from "../../api/client";
import { type Amount, amountsOf, differing } from "../../lib/certificate";
import { short } from "../../lib/format";
import { placed, standingEvidence } from "../../lib/visit";
import { WrongWords } from "../../parts/Wrong";
import { Dialog } from "../../shell/Dialog";
import { peopleList } from "../../shell/People";
import { settings } from "../../shell/settings";
import { visitTexts } from "../../texts/visit";
import type { StepProps } from "./StepForm";

const texts = visitTexts.readBack;

export function ReadBack({ handle, visit, stage, step, done, close }: StepProps & { close: () => void }) {
  const entered = placed(visit, step.second_person_of ?? null)?.step;
  const kept = entered ? standingEvidence(entered) : null;
  const [amounts, setAmounts] = useState<Amount[] | null>(null);
  const [none, setNone] = useState(kept?.sha256 === undefined);
  const [second, setSecond] = useState<Record<string, string>>({});
  const [who, setWho] = useState(() => settings.get().name);
  const [wrong, setWrong] = useState<Amount[] | null>(null);
  useEffect(() => {
    if (!kept?.sha256) return;
    bytes(`/api/v1/visits/${encodeURIComponent(visit.visit)}/evidence/${kept.sha256}`).then((answer) => {
      const found = answer.data ? amountsOf(new TextDecoder().decode(answer.data)) : null;
      setAmounts(found);
      setNone(found === null);
    });
  }, [kept?.sha256]);
  const same = kept !== null && who.trim().toLowerCase() === kept.by.trim().toLowerCase();
  const compare = async (event: Event) => {
    event.preventDefault();
    if (!amounts) return;
    const found = differing(amounts, second);
    setWrong(found);
    if (found.length > 0) return;
    const body = { stage: stage.name, step: step.name, by: who, value: texts.agree(amounts.length) };
    if (await handle.act("record", body, step.name, visitTexts.form.recorded(step.name))) {
      close();
      done();
    }
  };
  const complete = amounts?.every(({ component }) => (second[component] ?? "").trim() !== "") ?? false;
  return (
    <Dialog title={texts.title} onClose={close}>
      <form class="column" onSubmit={compare}>
        <p>{texts.says}</p>
        <label>
          <span>{texts.who}</span>
          <input
            value={who}
            maxLength={80}
            list={peopleList}
            onInput={(event) => setWho(event.currentTarget.value)}
          />
        </label>
        {same && who.trim() !== "" && <p class="wrong">{texts.same}</p>}
        <WrongWords says={none && texts.noFile} />
        <div class="fields">
          {(amounts ?? []).map(({ component }) => {
            const off = wrong?.find((each) => each.component === component);
            return (
              <label key={component}>
                <span>{component}</span>
                <input
                  inputMode="decimal"
                  autocomplete="off"
                  aria-invalid={off !== undefined}
                  value={second[component] ?? ""}
                  onInput={(event) => setSecond({ ...second, [component]: event.currentTarget.value })}
                />
                {off && <small class="wrong">{texts.typedWas(short(off.value, 8))}</small>}
              </label>
            );
          })}
        </div>
        <WrongWords says={wrong && wrong.length > 0 && texts.differ} />
        <button type="submit" class="main" disabled={!complete || same || who.trim() === ""}>
          {texts.compare}
        </button>
      </form>
    </Dialog>
  );
}
