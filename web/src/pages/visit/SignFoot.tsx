// Can I sign? Both statements, what stands against each, the findings that decide.
import { useState } from "preact/hooks";
import type { JudgedVisit, LedgerLine } from "../../api/types";
import { deciding, statements } from "../../lib/visit";
import { LedgerFoot } from "../../parts/LedgerFoot";
import { Dialog } from "../../shell/Dialog";
import { visitTexts } from "../../texts/visit";

const texts = visitTexts.sign;

function Lines({ lines, choose }: { lines: LedgerLine[]; choose: (step: string) => void }) {
  return (
    <ul class="between">
      {lines.map((line) => (
        <li key={`${line.what} ${line.why}`}>
          <button type="button" class="step" onClick={() => choose(line.what)}>
            <span class="step-name">
              <b>{line.what}</b> <span class="soft">{line.why}</span>
            </span>
            <span class="soft small">
              {line.work && line.conformity
                ? texts.both
                : line.work
                  ? texts.titles.work
                  : line.conformity
                    ? texts.titles.conformity
                    : ""}
            </span>
          </button>
        </li>
      ))}
    </ul>
  );
}

interface Props {
  judged: JudgedVisit | null;
  /** The findings are older than the record. */
  stale: boolean;
  choose: (step: string) => void;
  children?: preact.ComponentChildren;
}

export function SignFoot({ judged, stale, choose, children }: Props) {
  const [open, setOpen] = useState(false);
  if (!judged)
    return (
      <footer class="ledger" aria-labelledby="sign-title">
        <div class="question">
          <h2 id="sign-title">Can I sign?</h2>
          <span class="soft" role="status">
            {texts.making}
          </span>
        </div>
      </footer>
    );
  const { findings, open: waiting } = deciding(judged.findings);
  const against = judged.ledger.filter((line) => line.work || line.conformity);
  const listed = judged.ledger.filter((line) => !line.work && !line.conformity);
  return (
    <>
      <LedgerFoot
        findings={findings}
        open={waiting}
        statements={statements(judged, texts.titles, texts.yes)}
        no={texts.no}
        few
      >
        {stale && (
          <span class="soft small" role="status">
            {texts.making}
          </span>
        )}
        {against.length + listed.length > 0 && (
          <button type="button" onClick={() => setOpen(true)}>
            {against.length > 0
              ? `${texts.between} (${against.length})`
              : `${texts.listed} (${listed.length})`}
          </button>
        )}
        {children}
      </LedgerFoot>
      {open && (
        <Dialog title={texts.betweenTitle} onClose={() => setOpen(false)} wide>
          <Lines
            lines={against}
            choose={(step) => {
              choose(step);
              setOpen(false);
            }}
          />
          {listed.length > 0 && <h3>{texts.listed}</h3>}
          <Lines
            lines={listed}
            choose={(step) => {
              choose(step);
              setOpen(false);
            }}
          />
        </Dialog>
      )}
    </>
  );
}
