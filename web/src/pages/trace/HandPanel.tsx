// One peak set by hand: its ends as numbers too, what the area becomes, why, and who decided.

import { useEffect, useState } from "preact/hooks";
import { handSheet } from "../../api/desk";
import type { HandPeak, Problem, ShownPeak, TraceShown } from "../../api/types";
import type { Decision } from "../../lib/decisions";
import { formatted, typedNumber } from "../../lib/format";
import { KeepInVisit } from "../../parts/KeepInVisit";
import { Wrong, WrongWords } from "../../parts/Wrong";
import { settings } from "../../shell/settings";
import { plotTexts } from "../../texts/plot";
import { traceTexts } from "../../texts/trace";
import type { End, Ends } from "./TracePlot";

const texts = traceTexts.hand;

interface Props {
  trace: TraceShown;
  /** The visit and step that keep this run. */
  near: { visit: string; step: string } | null;
  peak: ShownPeak;
  ends: Ends | null;
  hand: HandPeak | null;
  problem: Problem | null;
  kept: Decision | null;
  begin: () => void;
  moveEnd: (end: End, value: number, done: boolean) => void;
  away: () => void;
  keep: (decision: Decision) => void;
  undo: () => void;
}

function EndField({ says, value, put }: { says: string; value: number; put: (value: number) => void }) {
  const [text, setText] = useState<string | null>(null);
  useEffect(() => setText(null), [value]);
  const number = text === null ? value : typedNumber(text);
  const done = () => {
    if (text !== null && number !== null && number !== value) put(number);
    setText(null);
  };
  return (
    <label>
      <span>{says}</span>
      <input
        value={text ?? String(Number(value.toFixed(4)))}
        inputMode="decimal"
        aria-invalid={number === null}
        onInput={(event) => setText(event.currentTarget.value)}
        onBlur={done}
        onKeyDown={(event) => {
          if (event.key === "Enter") done();
        }}
      />
    </label>
  );
}

export function HandPanel(props: Props) {
  const { trace, peak, ends, hand, problem, kept } = props;
  const [reason, setReason] = useState(kept?.reason ?? "");
  const [by, setBy] = useState(kept?.by ?? settings.get().name);
  const [asked, setAsked] = useState(false);
  const name = peak.component ?? plotTexts.unnamed;
  const unit = `${trace.unit} s`;
  const short = reason.trim().length < 3;
  const request = ends && { detector: peak.detector, ...ends, component: peak.component ?? "", reason };
  return (
    <section class="sheet column hand" aria-label={texts.title(name)}>
      <header class="hand-head">
        <h2>{texts.title(name)}</h2>
        {!ends && (
          <button type="button" onClick={props.begin}>
            {texts.begin}
          </button>
        )}
        {kept && (
          <button type="button" class="grave" onClick={props.undo}>
            {texts.undo}
          </button>
        )}
      </header>
      {ends && request && (
        <>
          <div class="fields">
            <EndField
              says={texts.start}
              value={ends.start_s}
              put={(v) => props.moveEnd("start_s", v, true)}
            />
            <EndField says={texts.end} value={ends.end_s} put={(v) => props.moveEnd("end_s", v, true)} />
            <EndField
              says={`${texts.baseStart}, ${trace.unit}`}
              value={ends.base_start}
              put={(v) => props.moveEnd("base_start", v, true)}
            />
            <EndField
              says={`${texts.baseEnd}, ${trace.unit}`}
              value={ends.base_end}
              put={(v) => props.moveEnd("base_end", v, true)}
            />
          </div>
          <dl class="hand-areas" aria-live="polite">
            <div>
              <dt>{texts.found}</dt>
              <dd>{formatted({ value: peak.area, unit, expanded: 2 * peak.area_u })}</dd>
            </div>
            <div>
              <dt>{texts.now}</dt>
              <dd>{hand ? formatted({ value: hand.area, unit, expanded: 2 * hand.area_u }) : ""}</dd>
            </div>
            <div>
              <dt>{texts.change}</dt>
              <dd>{hand ? formatted({ value: hand.change_percent, unit: "%", decimals: 2 }) : ""}</dd>
            </div>
          </dl>
          <Wrong problem={problem} />
          <div class="fields">
            <label>
              <span>{texts.reason}</span>
              <input
                value={reason}
                maxLength={300}
                placeholder={texts.reasonSays}
                aria-invalid={asked && short}
                onInput={(event) => setReason(event.currentTarget.value)}
              />
            </label>
            <label>
              <span>{texts.by}</span>
              <input value={by} maxLength={80} onInput={(event) => setBy(event.currentTarget.value)} />
            </label>
          </div>
          <WrongWords says={asked && short && texts.needs} />
          <div class="buttons">
            <button
              type="button"
              class="main"
              disabled={!hand}
              onClick={() => {
                setAsked(true);
                if (short || !hand) return;
                props.keep({
                  detector: peak.detector,
                  apex_s: peak.apex_s,
                  peak: hand,
                  reason: reason.trim(),
                  by: by.trim(),
                  at: new Date().toISOString(),
                });
              }}
            >
              {texts.keep}
            </button>
            <KeepInVisit
              title={texts.record}
              says={texts.recordSays}
              disabled={!hand || short}
              file={(who) => handSheet(trace.id, who ? { ...request, by: who } : request)}
              fits={() => false}
              near={props.near}
            />
            <button type="button" class="quiet" onClick={props.away}>
              {texts.away}
            </button>
          </div>
        </>
      )}
    </section>
  );
}
