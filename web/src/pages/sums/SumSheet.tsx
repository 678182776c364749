// One sum: its formula, what is known, and what comes of it while one types.

import { useEffect, useMemo, useState } from "preact/hooks";
import { sumSheet, workSum } from "../../api/desk";
import type { Problem, SumAnswer, SumKind, SumUnit } from "../../api/types";
import { keep, kept } from "../../lib/kept";
import { saidOf } from "../../lib/problem";
import {
  begunForm,
  emptyForm,
  type Form,
  fieldOf,
  inputsOf,
  isComplete,
  type Usual,
  usualUnit,
  type Wrong,
} from "../../lib/sums";
import { KeepInVisit } from "../../parts/KeepInVisit";
import { useSettings } from "../../shell/settings";
import { sumsTexts as texts } from "../../texts/sums";
import { Fields } from "./Fields";
import { Results } from "./Results";

const isForm = (value: unknown): value is Form => typeof value === "object" && value !== null;

const begun = (kind: SumKind, usual: Usual): Form =>
  begunForm(kind.fields, usual, kept(`sum.${kind.name}`, {}, isForm));

export function SumSheet({ kind, units }: { kind: SumKind; units: SumUnit[] }) {
  const { system } = useSettings();
  const usual: Usual = (field) => usualUnit(field.unit, field.dimension, units, system);
  const [form, setForm] = useState<Form>(() => begun(kind, usual));
  const [show, setShow] = useState<Record<string, string>>({});
  const [answer, setAnswer] = useState<SumAnswer | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const { inputs, wrong } = useMemo(() => inputsOf(form, kind.fields, texts.notNumber), [form, kind]);
  const begunTyping = Object.keys(inputs).length > 0;
  const ready = begunTyping && isComplete(inputs, kind.fields) && Object.keys(wrong).length === 0;
  useEffect(() => {
    keep(`sum.${kind.name}`, form);
  }, [form, kind]);
  useEffect(() => {
    if (!ready) {
      setAnswer(null);
      setProblem(null);
      return undefined;
    }
    const away = new AbortController();
    const timer = setTimeout(() => {
      workSum(kind.name, { inputs, show }, away.signal).then((reply) => {
        if (away.signal.aborted) return;
        setAnswer(reply.data);
        setProblem(reply.problem);
        // The reader's own units, once it is known which results there are.
        const own: Record<string, string> = {};
        for (const result of reply.data?.results ?? []) {
          const unit = usualUnit(result.unit, result.dimension, units, system);
          if (!(result.key in show) && unit !== result.unit) own[result.key] = unit;
        }
        if (Object.keys(own).length > 0) setShow({ ...own, ...show });
      });
    }, 60);
    return () => {
      clearTimeout(timer);
      away.abort();
    };
  }, [inputs, show, ready, kind]);

  // A refusal stands beside the field that it means.
  const where =
    problem &&
    fieldOf(
      problem.where,
      kind.fields.map((field) => field.key),
    );
  const shown: Wrong = { ...wrong };
  if (problem && where) shown[problem.where.includes("[") ? problem.where : where] = saidOf(problem);
  return (
    <div class="sum">
      <section class="sheet column" aria-labelledby="sum-inputs">
        {kind.caution && <p class="caution">{kind.caution}</p>}
        <dl class="sum-head">
          <dt>{texts.formula}</dt>
          <dd class="formula">{kind.formula}</dd>
          <dt>{texts.source}</dt>
          <dd>{kind.source}</dd>
        </dl>
        <h2 id="sum-inputs">{texts.inputs}</h2>
        <Fields kind={kind} units={units} usual={usual} form={form} wrong={shown} put={setForm} />
        <div class="buttons">
          <button type="button" class="quiet" onClick={() => setForm(emptyForm(kind.fields, usual))}>
            {texts.clear}
          </button>
        </div>
      </section>
      <section class="sheet column sum-answer" aria-labelledby="sum-answer" aria-live="polite">
        <h2 id="sum-answer">{texts.answer}</h2>
        {problem && !where && (
          <p role="alert" class="wrong">
            {saidOf(problem)}
          </p>
        )}
        {answer ? (
          <>
            <Results answer={answer} units={units} show={(key, unit) => setShow({ ...show, [key]: unit })} />
            <KeepInVisit
              title={texts.keep.title}
              says={texts.keep.says}
              file={() => sumSheet(kind.name, { inputs, show })}
              fits={(step) => kind.name === "leak" && step.role === "leak_test"}
            />
          </>
        ) : (
          <p class="soft">{problem ? (where ? texts.seeField : "") : texts.waiting}</p>
        )}
      </section>
    </div>
  );
}
