// Where a report is typed or pasted. What cannot be read is pointed at where it stands.

import { useEffect, useState } from "preact/hooks";
import { getExample } from "../../api/desk";
import type { Fault, Problem } from "../../api/types";
import { keep, kept } from "../../lib/kept";
import { emptyHeading, emptyRow, type Heading, type Row, textOf } from "../../lib/report";
import { Choices } from "../../parts/Choices";
import { dropping, FileButton, textOfFile } from "../../parts/FileButton";
import { Wrong } from "../../parts/Wrong";
import { lookTexts as texts } from "../../texts/look";
import { Grid } from "./Grid";
import { Lines } from "./Lines";

type Way = "paste" | "table";
interface Draft {
  way: Way;
  text: string;
  rows: Row[];
  heading: Heading;
  cylinder: { name: string; text: string } | null;
}

const fresh = (): Draft => ({
  way: "paste",
  text: "",
  rows: Array.from({ length: 6 }, emptyRow),
  heading: emptyHeading(),
  cylinder: null,
});

function isDraft(value: unknown): value is Draft {
  const it = value as Partial<Draft> | null;
  return (
    typeof it === "object" &&
    it !== null &&
    (it.way === "paste" || it.way === "table") &&
    typeof it.text === "string" &&
    Array.isArray(it.rows) &&
    typeof it.heading === "object"
  );
}

interface Props {
  ask: (report: string, cylinder: string | null) => void;
  busy: boolean;
  faults: Fault[];
  problem: Problem | null;
  /** What was answered no longer belongs to what stands here. */
  changed: () => void;
}

export function Entry({ ask, busy, faults, problem, changed }: Props) {
  const [draft, setDraft] = useState<Draft>(() => kept("look", fresh(), isDraft));
  useEffect(() => {
    keep("look", draft);
  }, [draft]);
  const table = textOf(draft.rows, draft.heading);
  const put = (part: Partial<Draft>, answer = false) => {
    const next = { ...draft, ...part };
    setDraft(next);
    changed();
    if (answer) go(next);
  };
  const go = (it: Draft) =>
    ask(it.way === "paste" ? it.text : textOf(it.rows, it.heading).text, it.cylinder?.text ?? null);
  const open = async (file: File) => put({ way: "paste", text: await textOfFile(file) }, true);
  const openCylinder = async (file: File) => {
    const cylinder = { name: file.name, text: await textOfFile(file) };
    put({ cylinder }, draft.way === "paste" ? draft.text.trim() !== "" : true);
  };
  const example = async () => {
    const { data } = await getExample("printed_report.csv");
    if (data) put({ way: "paste", text: data.text, cylinder: null }, true);
  };
  const empty =
    draft.way === "paste" ? draft.text.trim() === "" : table.rowOfLine.every((row) => row === null);

  return (
    <section class="sheet column" aria-label={texts.way.legend} {...dropping(open)}>
      <Choices {...texts.way} chosen={draft.way} choose={(way) => put({ way })} />
      {draft.way === "paste" ? (
        <Lines
          text={draft.text}
          faults={faults}
          put={(text) => put({ text })}
          pasted={(text) => put({ text }, true)}
        />
      ) : (
        <Grid
          rows={draft.rows}
          heading={draft.heading}
          faults={faults}
          rowOfLine={table.rowOfLine}
          put={(rows) => put({ rows })}
          putHeading={(heading) => put({ heading })}
        />
      )}
      <Wrong problem={problem} />
      <div class="buttons">
        <button type="button" class="main" disabled={busy || empty} onClick={() => go(draft)}>
          {busy ? texts.going : texts.go}
        </button>
        <FileButton says={texts.open} accept=".csv,.txt,.json,.tsv,text/*" open={open} />
        <button type="button" class="quiet" onClick={example}>
          {texts.example}
        </button>
        <button type="button" class="quiet" onClick={() => put({ ...fresh(), way: draft.way })}>
          {texts.clear}
        </button>
      </div>
      <div class="look-cylinder">
        <h2>{texts.cylinder.title}</h2>
        <p class="soft small">{texts.cylinder.says}</p>
        <div class="buttons">
          <FileButton says={texts.cylinder.open} accept=".json,application/json" open={openCylinder} />
          {draft.cylinder && (
            <>
              <b>{draft.cylinder.name}</b>
              <button type="button" class="quiet" onClick={() => put({ cylinder: null })}>
                {texts.cylinder.away}
              </button>
            </>
          )}
        </div>
      </div>
    </section>
  );
}
