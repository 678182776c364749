import type { Finding } from "../api/types";
import { bar } from "../lib/scale";
import "./finding-bar.css";

// The finding against its limits: allowed stretch, limits as posts, interval of the value, value.
export function FindingBar({ finding }: { finding: Finding }) {
  if (finding.value === null) return null;
  const at = bar(finding.value, (finding.u ?? 0) * finding.k, finding.low, finding.high);
  if (at === null || (at.low === null && at.high === null)) return null;
  const x = (share: number) => `${(100 * share).toFixed(2)}%`;
  const from = at.low ?? 0;
  const to = at.high ?? 1;
  return (
    <svg class={`gauge is-${finding.verdict}`} width="100%" height="22" aria-hidden="true">
      <rect class="bar-way" x="0" y="9" width="100%" height="4" rx="2" />
      <rect class="bar-allowed" x={x(from)} y="6" width={x(to - from)} height="10" />
      {[at.low, at.high].map((limit) =>
        limit === null ? null : (
          <line class="bar-limit" key={limit} x1={x(limit)} x2={x(limit)} y1="1" y2="21" />
        ),
      )}
      <line class="bar-u" x1={x(at.from)} x2={x(at.to)} y1="11" y2="11" />
      {finding.verdict === "fails" ? (
        <svg x={x(at.value)} y="4" width="1" height="14" overflow="visible">
          <path d="M0 0L7 7L0 14L-7 7z" fill="currentColor" />
        </svg>
      ) : (
        <circle cx={x(at.value)} cy="11" r="6" fill="currentColor" />
      )}
    </svg>
  );
}
