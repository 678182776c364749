// The inputs of a sum: value, its standard uncertainty, its unit; gases by name; lists row by row.

import type { SumField, SumKind, SumUnit } from "../../api/types";
import { unitAsIs } from "../../lib/format";
import {
  emptyFormRow,
  type Form,
  type FormRow,
  switched,
  type Typed,
  type Usual,
  unitsOf,
  type Wrong,
} from "../../lib/sums";
import { WrongWords } from "../../parts/Wrong";
import { sumsTexts as texts } from "../../texts/sums";

type PlainField = Pick<SumField, "key" | "form" | "dimension" | "unit" | "help" | "required">;

interface OneProps {
  field: PlainField;
  units: SumUnit[];
  typed: Typed;
  wrong: string | undefined;
  id: string;
  put: (typed: Typed) => void;
}

function One({ field, units, typed, wrong, id, put }: OneProps) {
  const says = wrong ? `${id}-wrong` : undefined;
  const isGas = field.form === "gas";
  const choices = isGas || field.unit === "1" ? [] : unitsOf(units, field.dimension);
  return (
    <div class="sum-field">
      <label for={id}>
        <span>
          {field.help.replace(/, a file$/, "")} <i class="symbol">{field.key}</i>
          {field.required && <em class="pill">{texts.needed}</em>}
        </span>
      </label>
      <div class="sum-entry">
        <input
          id={id}
          value={typed.value}
          inputMode={isGas ? "text" : "decimal"}
          autocomplete="off"
          placeholder={isGas ? texts.gas : undefined}
          aria-invalid={wrong !== undefined}
          aria-describedby={says}
          onInput={(event) => put({ ...typed, value: event.currentTarget.value })}
        />
        {!isGas && (
          <input
            class="sum-u"
            value={typed.u}
            inputMode="decimal"
            autocomplete="off"
            placeholder={texts.u}
            aria-label={`${texts.uLong} ${field.help}`}
            onInput={(event) => put({ ...typed, u: event.currentTarget.value })}
          />
        )}
        {choices.length > 1 ? (
          <select
            value={typed.unit}
            aria-label={`${texts.unit} ${field.help}`}
            onChange={(event) => put(switched(typed, event.currentTarget.value, field.dimension, units))}
          >
            {choices.map((unit) => (
              <option key={unit} value={unit}>
                {unit === "1" ? "" : unitAsIs(unit)}
              </option>
            ))}
          </select>
        ) : null}
      </div>
      {wrong && (
        <p id={says} class="wrong" role="alert">
          {wrong}
        </p>
      )}
    </div>
  );
}

interface ListProps {
  usual: Usual;
  field: SumField;
  units: SumUnit[];
  rows: FormRow[];
  wrong: Wrong;
  put: (rows: FormRow[]) => void;
}

function List({ usual, field, units, rows, wrong, put }: ListProps) {
  const change = (at: number, part: Partial<FormRow>) =>
    put(rows.map((row, i) => (i === at ? { ...row, ...part } : row)));
  return (
    <fieldset class="sum-list">
      <legend>
        <b>{field.key}</b> <span class="soft">{field.help}</span>
      </legend>
      {rows.map((row, i) => (
        <div class="sum-list-row" key={i}>
          <label>
            <span>{texts.rowName}</span>
            <input value={row.name} onInput={(event) => change(i, { name: event.currentTarget.value })} />
          </label>
          {field.entries.map((entry) => (
            <One
              key={entry.key}
              field={entry}
              units={units}
              typed={row.fields[entry.key] ?? { value: "", u: "", unit: entry.unit }}
              wrong={wrong[`${field.key}[${i}].${entry.key}`]}
              id={`sum-${field.key}-${i}-${entry.key}`}
              put={(typed) => change(i, { fields: { ...row.fields, [entry.key]: typed } })}
            />
          ))}
          <WrongWords says={wrong[`${field.key}[${i}]`]} />
          <button type="button" class="quiet" onClick={() => put(rows.filter((_, at) => at !== i))}>
            {texts.away}
          </button>
        </div>
      ))}
      <WrongWords says={wrong[field.key]} />
      <button type="button" onClick={() => put([...rows, emptyFormRow(field.entries, usual)])}>
        {texts.row}
      </button>
    </fieldset>
  );
}

interface Props {
  usual: Usual;
  kind: SumKind;
  units: SumUnit[];
  form: Form;
  wrong: Wrong;
  put: (form: Form) => void;
}

export function Fields({ usual, kind, units, form, wrong, put }: Props) {
  return (
    <div class="sum-fields">
      {kind.fields.map((field) => {
        const part = form[field.key];
        if (field.form === "list")
          return (
            <List
              key={field.key}
              usual={usual}
              field={field}
              units={units}
              rows={Array.isArray(part) ? part : []}
              wrong={wrong}
              put={(rows) => put({ ...form, [field.key]: rows })}
            />
          );
        return (
          <One
            key={field.key}
            field={field}
            units={units}
            typed={part && !Array.isArray(part) ? part : { value: "", u: "", unit: field.unit }}
            wrong={wrong[field.key]}
            id={`sum-${field.key}`}
            put={(typed) => put({ ...form, [field.key]: typed })}
          />
        );
      })}
    </div>
  );
}
