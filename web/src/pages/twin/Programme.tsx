// The programme as rows: where each event stands, steps by a large button, and a bar of the whole cycle.
import { useEffect, useState } from "preact/hooks";
import type { ProgrammeEvent, ProposedEvent, Twin } from "../../api/types";
import { formatted, typedNumber } from "../../lib/format";
import { twinTexts as texts } from "../../texts/twin";

interface Props {
  twin: Twin;
  programme: ProgrammeEvent[];
  windows: (ProposedEvent | null)[];
  move: (index: number, at_s: number) => void;
}

function Time({ event, put }: { event: ProgrammeEvent; put: (at_s: number) => void }) {
  const [text, setText] = useState<string | null>(null);
  useEffect(() => setText(null), [event.at_s]);
  const number = text === null ? event.at_s : typedNumber(text);
  const done = () => {
    if (number !== null && number !== event.at_s) put(number);
    setText(null);
  };
  return (
    <input
      class="event-time"
      value={text ?? String(event.at_s)}
      inputMode="decimal"
      disabled={event.fixed}
      aria-label={`${event.action} ${texts.at}, s`}
      aria-invalid={number === null}
      onInput={(e) => setText(e.currentTarget.value)}
      onBlur={done}
      onKeyDown={(e) => {
        if (e.key === "Enter") done();
      }}
    />
  );
}

export function Programme({ twin, programme, windows, move }: Props) {
  const share = (at: number) => `${((100 * at) / twin.cycle_s).toFixed(3)}%`;
  const seconds = (value: number) => formatted({ value, unit: "s", decimals: 2 });
  return (
    <ol class="programme" aria-label={texts.events}>
      {programme.map((event, i) => {
        const window = windows[i];
        const was = twin.programme.find((each) => each.action === event.action);
        const clean = window && window.earliest_s !== null && window.latest_s !== null ? window : null;
        return (
          <li key={i}>
            <span class="event-name">{event.action}</span>
            <div class="event-set">
              <button
                type="button"
                disabled={event.fixed}
                aria-label={texts.earlier(event.action)}
                onClick={() => move(i, event.at_s - twin.time_step_s)}
              >
                {"\u2212"}
              </button>
              <Time event={event} put={(at_s) => move(i, at_s)} />
              <button
                type="button"
                disabled={event.fixed}
                aria-label={texts.later(event.action)}
                onClick={() => move(i, event.at_s + twin.time_step_s)}
              >
                +
              </button>
            </div>
            <svg class="event-bar" width="100%" height="18" aria-hidden="true">
              <rect class="event-way" x="0" y="8" width="100%" height="2" />
              {clean && (
                <rect
                  class="event-window"
                  x={share(clean.earliest_s ?? 0)}
                  y="2"
                  width={share(Math.max(1, (clean.latest_s ?? 0) - (clean.earliest_s ?? 0)))}
                  height="14"
                />
              )}
              <rect class="event-at" x={share(event.at_s)} y="0" width="4" height="18" rx="2" />
            </svg>
            <span class="soft small event-says">
              {event.fixed
                ? texts.fixed
                : clean
                  ? `${texts.windows} ${seconds(clean.earliest_s ?? 0)} \u2013 ${seconds(clean.latest_s ?? 0)}`
                  : window
                    ? texts.noWindow
                    : was && was.at_s !== event.at_s
                      ? `${texts.was} ${seconds(was.at_s)}`
                      : ""}
            </span>
          </li>
        );
      })}
    </ol>
  );
}
