import { useState } from "preact/hooks";
import type { Comparison, Finding } from "../../api/types";
import { type Shown, shownFindings, whereText } from "../../lib/choose";
import { formatted, limitText } from "../../lib/format";
import { VerdictMark } from "../../parts/VerdictMark";
import "./findings.css";

function Side({ says, finding }: { says: string; finding: Finding | null }) {
  return (
    <div class="side">
      <span class="soft">{says}</span>
      {finding === null ? (
        <span class="soft">not asked</span>
      ) : (
        <>
          <b>{formatted({ ...finding, expanded: (finding.u ?? 0) * finding.k })}</b>
          <VerdictMark verdict={finding.verdict} />
        </>
      )}
    </div>
  );
}

function Row({ row }: { row: Comparison }) {
  const one = row.as_left ?? row.as_found;
  if (one === null) return null;
  const note = row.as_left?.note ?? row.as_found?.note;
  return (
    <li>
      <h3>
        {row.title}
        <span class="soft where">{whereText(one)}</span>
        {one.required && <span class="needed">decides</span>}
      </h3>
      <div class="sides">
        <Side says="as found" finding={row.as_found} />
        <Side says="as left" finding={row.as_left} />
      </div>
      <p class="soft small">
        limit {limitText(one.low, one.high, one.unit)}
        {one.limit_source && `, ${one.limit_source}`}
      </p>
      {note && <p class="soft small">{note}</p>}
    </li>
  );
}

export function Findings({ rows }: { rows: Comparison[] }) {
  const [shown, setShown] = useState<Shown>("leading");
  const list = shownFindings(rows, shown);
  return (
    <section class="sheet findings" aria-labelledby="findings-title">
      <header>
        <h2 id="findings-title">As found, as left</h2>
        <button
          type="button"
          class="more"
          aria-pressed={shown === "all"}
          onClick={() => setShown(shown === "all" ? "leading" : "all")}
        >
          All {rows.length}
        </button>
      </header>
      {list.length === 0 ? (
        <p class="soft">No finding yet.</p>
      ) : (
        <ul>
          {list.map((row) => (
            <Row
              key={`${row.id} ${row.as_left?.gas ?? row.as_found?.gas} ${row.as_left?.stream ?? row.as_found?.stream}`}
              row={row}
            />
          ))}
        </ul>
      )}
    </section>
  );
}
