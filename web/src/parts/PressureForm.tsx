// The pressure of a cylinder, typed as the gauge shows it.
import { useState } from "preact/hooks";
import type { TypedPressure } from "../api/types";
import { unitName } from "../lib/format";
import {
  airUnits,
  faultOf,
  type PressureFault,
  pressureOf,
  pressureUnits,
  type Reading,
} from "../lib/pressure";
import { Dialog } from "../shell/Dialog";
import { peopleList } from "../shell/People";
import { settings } from "../shell/settings";
import { pressureTexts as texts } from "../texts/pressure";
import { Choices } from "./Choices";

interface Props {
  /** Whose pressure: a serial, or the step that keeps its certificate. */
  what: string;
  close: () => void;
  /** Answers what is wrong in a sentence, or null when it was recorded. */
  record: (typed: TypedPressure) => Promise<string | null>;
}

export default function PressureForm({ what, close, record }: Props) {
  const { system, name } = settings.get();
  const [reading, setReading] = useState<Reading>({
    value: "",
    unit: system === "us" ? "psi" : "bar",
    kind: "gauge",
    ambient: "",
    ambient_unit: system === "us" ? "psi" : "kPa",
    temperature: "",
    with: "",
  });
  const [by, setBy] = useState("");
  const [fault, setFault] = useState<PressureFault | null>(null);
  const [refused, setRefused] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const change = (part: Partial<Reading>) => {
    setReading({ ...reading, ...part });
    setFault(null);
    setRefused(null);
  };
  const keep = async (event: Event) => {
    event.preventDefault();
    const found = faultOf(reading);
    setFault(found);
    if (found) return;
    setBusy(true);
    const who = by.trim() || name;
    const wrong = await record({ ...pressureOf(reading, system), ...(who ? { by: who } : {}) });
    setBusy(false);
    setRefused(wrong);
    if (wrong === null) close();
  };
  const text = (field: "value" | "ambient" | "temperature" | "with", label: string, decimal = true) => (
    <label>
      <span>{label}</span>
      <input
        autocomplete="off"
        maxLength={80}
        {...(decimal ? { inputMode: "decimal" as const } : {})}
        aria-invalid={fault === field}
        value={reading[field]}
        onInput={(event) => change({ [field]: event.currentTarget.value })}
      />
    </label>
  );
  const unit = <U extends string>(
    label: string,
    units: readonly U[],
    chosen: U,
    choose: (next: U) => void,
  ) => (
    <label>
      <span>{label}</span>
      <select value={chosen} onChange={(event) => choose(event.currentTarget.value as U)}>
        {units.map((each) => (
          <option key={each} value={each}>
            {each}
          </option>
        ))}
      </select>
    </label>
  );
  return (
    <Dialog title={texts.title(what)} onClose={close}>
      <form class="column" onSubmit={keep}>
        <p class="soft">{texts.says}</p>
        <div class="fields">
          {text("value", texts.value)}
          {unit(texts.unit, pressureUnits, reading.unit, (next) => change({ unit: next }))}
        </div>
        <Choices
          legend={texts.kind.legend}
          choices={texts.kind.choices}
          chosen={reading.kind}
          choose={(kind) => change({ kind })}
        />
        {reading.kind === "gauge" && (
          <>
            <div class="fields">
              {text("ambient", texts.ambient)}
              {unit(texts.ambientUnit, airUnits, reading.ambient_unit, (next) =>
                change({ ambient_unit: next }),
              )}
            </div>
            <p class="soft small">{texts.ambientSays}</p>
          </>
        )}
        <div class="fields">
          {text("temperature", texts.temperature(unitName("degC")))}
          {text("with", texts.with, false)}
          <label>
            <span>{texts.by}</span>
            <input
              autocomplete="off"
              maxLength={80}
              list={peopleList}
              value={by}
              placeholder={name}
              onInput={(event) => setBy(event.currentTarget.value)}
            />
          </label>
        </div>
        <p class="soft small">{texts.temperatureSays}</p>
        {(fault || refused) && (
          <p role="alert" class="wrong">
            {fault ? texts.wrong[fault] : refused}
          </p>
        )}
        <button type="submit" class="main" disabled={busy}>
          {texts.keep}
        </button>
      </form>
    </Dialog>
  );
}
