import { useState } from "preact/hooks";
import { cylinderFile, type Fault, faultOf, type Row, sumOf, type Typed } from "../../lib/certificate";
import { useDraft } from "../../lib/drafts";
import { unitText } from "../../lib/format";
import { Choices } from "../../parts/Choices";
import { Dialog } from "../../shell/Dialog";
import { visitTexts } from "../../texts/visit";
import type { StepProps } from "./StepForm";

const texts = visitTexts.certificate;

const usual = [
  "methane",
  "nitrogen",
  "carbon dioxide",
  "ethane",
  "propane",
  "isobutane",
  "n-butane",
  "neopentane",
  "isopentane",
  "n-pentane",
  "n-hexane",
];

const blank: Typed = {
  serial: "",
  laboratory: "",
  certified: "",
  expires: "",
  pressure: "",
  unit: "mol%",
  k: "2",
  rows: usual.map((component) => ({ component, amount: "", expanded: "" })),
};

function said(fault: Fault): string {
  if (fault.kind === "row") return texts.wrongRow;
  const name = fault.field in texts ? String(texts[fault.field as keyof typeof texts]) : fault.field;
  return fault.kind === "missing" ? texts.missing(name) : texts.wrongNumber(name);
}

export function CertificateForm({
  handle,
  visit,
  stage,
  step,
  done,
  close,
}: StepProps & { close: () => void }) {
  const { draft, put, clear } = useDraft(`${visit.visit}.${step.name}.certificate`);
  const [typed, setTyped] = useState<Typed>(() => {
    try {
      return draft.typed ? { ...blank, ...(JSON.parse(draft.typed) as Partial<Typed>) } : blank;
    } catch {
      return blank;
    }
  });
  const [fault, setFault] = useState<Fault | null>(null);
  const change = (part: Partial<Typed>) => {
    const next = { ...typed, ...part };
    setTyped(next);
    setFault(null);
    put("typed", JSON.stringify(next));
  };
  const changeRow = (at: number, part: Partial<Row>) =>
    change({ rows: typed.rows.map((row, i) => (i === at ? { ...row, ...part } : row)) });
  // Only components that are on this certificate: an amount left empty is not on it.
  const given = (): Typed => ({
    ...typed,
    rows: typed.rows.filter(
      (row) => row.amount.trim() !== "" || row.expanded.trim() !== "" || !usual.includes(row.component),
    ),
  });
  const keep = async (event: Event) => {
    event.preventDefault();
    const all = given();
    const found = faultOf(all);
    setFault(found);
    if (found) return;
    const role = step.role === "proving_cylinder" ? "proving" : "calibration";
    const file = new File([cylinderFile(all, role)], `certificate ${all.serial.trim()}.json`);
    const query = { stage: stage.name, step: step.name, as: "file" };
    if (await handle.hand(file, query, step.name, visitTexts.form.recorded(step.name))) {
      clear();
      close();
      done();
    }
  };
  const text = (
    field: "serial" | "laboratory" | "certified" | "expires" | "pressure" | "k",
    isDate = false,
  ) => {
    const shared = {
      value: typed[field],
      "aria-invalid": fault !== null && fault.kind !== "row" && fault.field === field,
      onInput: (event: { currentTarget: { value: string } }) =>
        change({ [field]: event.currentTarget.value }),
    };
    return isDate ? (
      <label>
        <span>{texts[field]}</span>
        <input type="date" {...shared} />
      </label>
    ) : (
      <label>
        <span>{texts[field]}</span>
        <input autocomplete="off" {...shared} />
      </label>
    );
  };
  const sum = sumOf(given().rows);
  return (
    <Dialog title={texts.title} onClose={close} wide>
      <form class="column" onSubmit={keep}>
        <div class="fields">
          {text("serial")}
          {text("laboratory")}
          {text("certified", true)}
          {text("expires", true)}
          {text("pressure")}
          {text("k")}
        </div>
        <Choices
          legend={texts.unit}
          choices={[
            ["mol%", "mol%"],
            ["mol/mol", "mol/mol"],
          ]}
          chosen={typed.unit}
          choose={(unit) => change({ unit })}
        />
        <div class="scroll">
          <table class="typed">
            <thead>
              <tr>
                <th scope="col">{texts.component}</th>
                <th scope="col">{texts.amount}</th>
                <th scope="col">{texts.expanded}</th>
              </tr>
            </thead>
            <tbody>
              {typed.rows.map((row, i) => (
                <tr key={i}>
                  <td class="words">
                    <input
                      aria-label={`${texts.component} ${i + 1}`}
                      value={row.component}
                      onInput={(event) => changeRow(i, { component: event.currentTarget.value })}
                    />
                  </td>
                  <td>
                    <input
                      inputMode="decimal"
                      autocomplete="off"
                      aria-label={`${texts.amount}, ${row.component}`}
                      aria-invalid={fault?.kind === "number" && fault.field === row.component}
                      value={row.amount}
                      onInput={(event) => changeRow(i, { amount: event.currentTarget.value })}
                    />
                  </td>
                  <td>
                    <input
                      inputMode="decimal"
                      autocomplete="off"
                      aria-label={`${texts.expanded}, ${row.component}`}
                      value={row.expanded}
                      onInput={(event) => changeRow(i, { expanded: event.currentTarget.value })}
                    />
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
        <div class="buttons">
          <button
            type="button"
            onClick={() => change({ rows: [...typed.rows, { component: "", amount: "", expanded: "" }] })}
          >
            {texts.add}
          </button>
          {sum !== null && (
            <output>
              {texts.sum}:{" "}
              <b>
                {sum}
                {unitText(typed.unit)}
              </b>
            </output>
          )}
        </div>
        {fault && (
          <p class="wrong" role="alert">
            {said(fault)}
          </p>
        )}
        <button type="submit" class="main">
          {texts.keep}
        </button>
      </form>
    </Dialog>
  );
}
