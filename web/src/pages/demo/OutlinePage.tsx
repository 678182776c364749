import type { Outline } from "../../api/types";
import { PageHead } from "./PageHead";
import { VisitLine } from "./VisitLine";

const nothing = () => {};

/** What can be said before the runs are read: where, when, which stages. */
export function OutlinePage({ outline }: { outline: Outline }) {
  return (
    <div class="frame" aria-busy="true">
      <PageHead visit={outline} />
      <main class="column">
        <section class="sheet" aria-labelledby="line-title">
          <header>
            <h2 id="line-title">The visit</h2>
            <span class="soft">every run against its certified calorific value</span>
          </header>
          <VisitLine visit={{ ...outline, runs: [] }} chosen={null} choose={nothing} />
          <p class="soft" role="status">
            Reading {outline.runs.length} runs from their traces. This takes a second or two.
          </p>
        </section>
      </main>
    </div>
  );
}
