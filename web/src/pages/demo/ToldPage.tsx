import { useState } from "preact/hooks";
import { getRun } from "../../api/client";
import type { Verdict, Visit } from "../../api/types";
import { firstChoice } from "../../lib/choose";
import { LedgerFoot } from "../../parts/LedgerFoot";
import { TracePanel } from "../../parts/TracePanel";
import { VerdictMark } from "../../parts/VerdictMark";
import { ChosenRun } from "./ChosenRun";
import { Findings } from "./Findings";
import { PageHead } from "./PageHead";
import { Suspects } from "./Suspects";
import { VisitLine } from "./VisitLine";

const legend: Verdict[] = ["meets", "fails", "unclear", "no_limit"];

export function ToldPage({ visit }: { visit: Visit }) {
  const [chosen, choose] = useState(() => firstChoice(visit));
  const run = visit.runs.find((each) => each.id === chosen);
  return (
    <>
      <div class="frame">
        <PageHead visit={visit} />
        <main class="column">
          <section class="sheet" aria-labelledby="line-title">
            <header>
              <h2 id="line-title">The visit</h2>
              <span class="soft">every run against its certified calorific value</span>
              <span class="legend">
                {legend.map((verdict) => (
                  <VerdictMark key={verdict} verdict={verdict} />
                ))}
              </span>
            </header>
            {visit.runs.length === 0 ? (
              <p class="soft">No run yet. The first appears here as soon as it is in.</p>
            ) : (
              <VisitLine visit={visit} chosen={chosen} choose={choose} />
            )}
            {run && <ChosenRun runs={visit.runs} run={run} choose={choose} />}
          </section>
          <div class="work">
            <div class="column">
              {chosen ? (
                <TracePanel of={chosen} load={(signal) => getRun(chosen, signal)} />
              ) : (
                <section class="sheet soft">No trace yet.</section>
              )}
              <Suspects visit={visit} />
              <section class="sheet" aria-labelledby="may-title">
                <header>
                  <h2 id="may-title">What may be signed</h2>
                </header>
                {visit.ledger.statements.map((statement) => (
                  <p key={statement.id}>
                    <b>
                      {statement.title}: {statement.may_sign ? "yes" : "not from here"}
                    </b>
                    , {statement.why}.
                  </p>
                ))}
              </section>
            </div>
            <Findings rows={visit.findings} />
          </div>
          <p class="soft">
            {visit.notice} Nothing here is authority to proceed: local rules, the permit and the maker's
            instructions come first.
          </p>
        </main>
      </div>
      <LedgerFoot
        findings={visit.ledger.findings}
        open={visit.ledger.open}
        statements={visit.ledger.statements}
        no="not from here"
      />
    </>
  );
}
