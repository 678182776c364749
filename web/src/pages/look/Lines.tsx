// The report as text, its lines numbered; a line at fault is marked in the margin and told of below.
import { useLayoutEffect, useRef } from "preact/hooks";
import type { Fault } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { lookTexts as texts } from "../../texts/look";

interface Props {
  text: string;
  faults: Fault[];
  put: (text: string) => void;
  pasted: (text: string) => void;
}

export function Lines({ text, faults, put, pasted }: Props) {
  const area = useRef<HTMLTextAreaElement>(null);
  const gutter = useRef<HTMLDivElement>(null);
  const lines = text.split("\n");
  const wrong = new Set(faults.map((fault) => fault.line));
  const follow = () => {
    if (gutter.current && area.current) gutter.current.scrollTop = area.current.scrollTop;
  };
  useLayoutEffect(follow);
  const goTo = (line: number) => {
    const box = area.current;
    if (!box) return;
    const from = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0);
    box.focus();
    box.setSelectionRange(from, from + (lines[line - 1]?.length ?? 0));
  };
  return (
    <div class="column">
      <label for="report-text">
        <span>{texts.text}</span>
        <small class="soft">{texts.hint}</small>
      </label>
      <div class="lines">
        <div class="lines-gutter" ref={gutter} aria-hidden="true">
          {lines.map((_, i) => (
            <span key={i} class={wrong.has(i + 1) ? "is-wrong" : ""}>
              {i + 1}
            </span>
          ))}
        </div>
        <textarea
          id="report-text"
          ref={area}
          class={faults.length > 0 ? "has-faults" : ""}
          aria-invalid={faults.length > 0}
          aria-describedby={faults.length > 0 ? "report-faults" : undefined}
          rows={16}
          spellcheck={false}
          autocapitalize="off"
          placeholder={texts.sample}
          value={text}
          onScroll={follow}
          onInput={(event) => {
            const next = event.currentTarget.value;
            // What was pasted into an empty field is looked at without being asked.
            if ((event as InputEvent).inputType === "insertFromPaste" && text.trim() === "") pasted(next);
            else put(next);
          }}
        />
      </div>
      {faults.length > 0 && (
        <div id="report-faults" class="faults" role="alert">
          <p class="wrong">{texts.faults(faults.length)}</p>
          <ul>
            {faults.map((fault) => (
              <li key={`${fault.where} ${fault.what}`}>
                {fault.line === null ? (
                  <b>{texts.whole}</b>
                ) : (
                  <button type="button" onClick={() => goTo(fault.line ?? 1)}>
                    {texts.line(fault.line)}
                  </button>
                )}
                <span>{saidOf(fault)}</span>
              </li>
            ))}
          </ul>
        </div>
      )}
    </div>
  );
}
