import type { Verdict } from "../api/types";
import { verdictWord } from "../lib/choose";

// One shape a verdict, so that none depends on colour: disc, diamond, half disc, ring, bar.
export function VerdictShape({ verdict, size = 16 }: { verdict: Verdict; size?: number }) {
  const c = size / 2;
  const r = c - 1;
  switch (verdict) {
    case "meets":
      return <circle cx={c} cy={c} r={r} fill="currentColor" />;
    case "fails":
      return <path d={`M${c} 0L${size} ${c}L${c} ${size}L0 ${c}z`} fill="currentColor" />;
    case "unclear":
      return (
        <>
          <circle cx={c} cy={c} r={r - 0.5} fill="none" stroke="currentColor" stroke-width="2" />
          <path d={`M${c} 1a${r} ${r} 0 0 1 0 ${2 * r}z`} fill="currentColor" />
        </>
      );
    case "no_limit":
    case "not_applicable":
      return <rect x={c - 2.5} y={1} width={5} height={size - 2} rx={2.5} fill="currentColor" />;
    case "missing":
    case "not_yet":
      return (
        <circle
          cx={c}
          cy={c}
          r={r - 0.5}
          fill="none"
          stroke="currentColor"
          stroke-width="2"
          stroke-dasharray="3 2.3"
        />
      );
  }
}

export function VerdictMark({ verdict }: { verdict: Verdict }) {
  return (
    <span class={`verdict is-${verdict}`}>
      <svg class="mark" width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
        <VerdictShape verdict={verdict} />
      </svg>
      {verdictWord[verdict]}
    </span>
  );
}
