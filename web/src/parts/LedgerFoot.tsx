import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import type { Finding, Statement } from "../api/types";
import { whereText } from "../lib/choose";
import { formatted, limitText } from "../lib/format";
import { FindingBar } from "./FindingBar";
import { VerdictMark } from "./VerdictMark";
import "./ledger.css";

function Said({ statement, no }: { statement: Statement; no: string }) {
  return (
    <p class="said">
      <svg
        class={`mark is-${statement.may_sign ? "meets" : "missing"}`}
        width="18"
        height="18"
        viewBox="0 0 18 18"
        aria-hidden="true"
      >
        {statement.may_sign ? (
          <path d="M2 10l5 5L16 3" fill="none" stroke="currentColor" stroke-width="3.200" />
        ) : (
          <path d="M3 9h12" fill="none" stroke="currentColor" stroke-width="3.200" />
        )}
      </svg>
      <span>
        <b>
          {statement.title}: {statement.may_sign ? "yes" : no}
        </b>
        <span class="soft why"> {statement.why}</span>
      </span>
    </p>
  );
}

function Cell({ finding }: { finding: Finding }) {
  return (
    <li>
      <span>
        {finding.title}
        <span class="soft">{whereText(finding)}</span>
      </span>
      <FindingBar finding={finding} />
      <b>{formatted({ ...finding, expanded: (finding.u ?? 0) * finding.k })}</b>
      <span class="cell-foot">
        <span class="soft">{limitText(finding.low, finding.high, finding.unit)}</span>
        <VerdictMark verdict={finding.verdict} />
      </span>
    </li>
  );
}

interface Props {
  /** The findings that decide, what is open first. */
  findings: Finding[];
  /** How many of them are open. */
  open: number;
  statements: Statement[];
  /** What is said of a statement that may not be signed. */
  no: string;
  /** Folded at first, with the first few numbers still shown where there is room. */
  few?: boolean;
  /** Buttons beside the answer. */
  children?: ComponentChildren;
}

export function LedgerFoot({ findings, open: waiting, statements, no, few = false, children }: Props) {
  const [wanted, setOpen] = useState(
    () => !few && matchMedia("(min-width: 1041px) and (min-height: 700px)").matches,
  );
  const all = findings.length;
  const open = wanted && all > 0;
  return (
    <footer class={open ? "ledger unfolded" : "ledger"} aria-labelledby="sign-title">
      <div class="answer">
        <div class="question">
          <h2 id="sign-title">Can I sign?</h2>
          <span class="count soft">
            {all === 0
              ? "nothing that decides could be judged yet"
              : waiting === 0
                ? `all ${all} that decide are met`
                : `${waiting} of ${all} still open`}
          </span>
        </div>
        {statements.map((statement) => (
          <Said key={statement.id} statement={statement} no={no} />
        ))}
        <span class="answer-acts">
          {children}
          {all > 0 && (
            <button
              type="button"
              aria-expanded={open}
              aria-controls="ledger-cells"
              onClick={() => setOpen(!open)}
            >
              {open ? "Fold" : "Numbers"}
            </button>
          )}
        </span>
      </div>
      <ul id="ledger-cells" class={open ? "cells" : few ? "cells folded few" : "cells folded"}>
        {findings.map((finding) => (
          <Cell key={`${finding.id} ${finding.gas} ${finding.stream} ${finding.basis}`} finding={finding} />
        ))}
      </ul>
    </footer>
  );
}
