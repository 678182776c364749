// What stands in for evidence: not done, not to be had, does not apply; passed with a reason, or by a second person.
import { useState } from "preact/hooks";
import { Choices } from "../../parts/Choices";
import { peopleList } from "../../shell/People";
import { visitTexts } from "../../texts/visit";
import type { StepProps } from "./StepForm";

const texts = visitTexts.other;
type Way = keyof typeof texts.says;

interface Props extends StepProps {
  by: string;
  clear: () => void;
}

export function OtherWays({ handle, stage, step, by, clear, done }: Props) {
  const [way, setWay] = useState<Way | null>(null);
  const [reason, setReason] = useState("");
  const [second, setSecond] = useState("");
  const [permit, setPermit] = useState("");
  const [open, setOpen] = useState(false);
  const safety = step.class === "safety";
  const ways: [Way, string][] = [
    ["not_done", texts.not_done],
    ["not_obtainable", texts.not_obtainable],
    ["not_applicable", texts.not_applicable],
    safety ? ["passed", texts.passed] : ["override", texts.override],
  ];
  const ready =
    way !== null &&
    reason.trim() !== "" &&
    (way !== "passed" || (second.trim() !== "" && permit.trim() !== ""));
  const record = async () => {
    if (!way) return;
    const body: Record<string, string> = { stage: stage.name, step: step.name };
    if (by) body.by = by;
    body[way === "passed" ? "override" : way] = reason;
    if (way === "passed") {
      body.second = second;
      body.permit = permit;
    }
    if (await handle.act("record", body, step.name, `${step.name}: ${texts[way]}`)) {
      setWay(null);
      setReason("");
      setOpen(false);
      clear();
      done();
    }
  };
  return (
    <details open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{texts.title}</summary>
      <div class="column tight">
        <Choices legend="" choices={ways} chosen={way} choose={setWay} />
        {way && <p class={way === "passed" ? "caution" : "soft small"}>{texts.says[way]}</p>}
        {way && (
          <div class="fields">
            <label>
              <span>{way === "not_obtainable" ? texts.standsIn : texts.reason}</span>
              <input value={reason} onInput={(event) => setReason(event.currentTarget.value)} />
            </label>
            {way === "passed" && (
              <>
                <label>
                  <span>{texts.second}</span>
                  <input
                    value={second}
                    list={peopleList}
                    onInput={(event) => setSecond(event.currentTarget.value)}
                  />
                </label>
                <label>
                  <span>{texts.permit}</span>
                  <input value={permit} onInput={(event) => setPermit(event.currentTarget.value)} />
                </label>
              </>
            )}
          </div>
        )}
        {way && (
          <button type="button" class="main" disabled={!ready} onClick={record}>
            {visitTexts.form.record}
          </button>
        )}
      </div>
    </details>
  );
}
