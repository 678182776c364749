import type { StepWord } from "../api/types";

// One shape a state, as for verdicts: done a disc, not done a crossed ring, passed with a reason half a disc, open a
// broken ring, not applicable a bar.
const shapes: Record<StepWord, [string, preact.JSX.Element]> = {
  done: ["is-meets", <circle key="s" cx="8" cy="8" r="7" fill="currentColor" />],
  overridden: [
    "is-unclear",
    <path
      key="s"
      d="M8 1a7 7 0 0 1 0 14zM8 2.2a5.800 5.800 0 0 0 0 11.600"
      fill="currentColor"
      stroke="currentColor"
      stroke-width="1.500"
    />,
  ],
  passed: [
    "is-unclear",
    <path
      key="s"
      d="M8 1a7 7 0 0 1 0 14zM8 2.200a5.800 5.800 0 0 0 0 11.600"
      fill="currentColor"
      stroke="currentColor"
      stroke-width="1.500"
    />,
  ],
  not_done: [
    "is-fails",
    <path key="s" d="M3 3l10 10M13 3L3 13" fill="none" stroke="currentColor" stroke-width="3" />,
  ],
  not_obtainable: [
    "is-fails",
    <path key="s" d="M3 3l10 10M13 3L3 13" fill="none" stroke="currentColor" stroke-width="2" />,
  ],
  not_applicable: [
    "is-missing",
    <rect key="s" x="1" y="6" width="14" height="4" rx="2" fill="currentColor" />,
  ],
  open: [
    "is-missing",
    <circle
      key="s"
      cx="8"
      cy="8"
      r="6"
      fill="none"
      stroke="currentColor"
      stroke-width="2"
      stroke-dasharray="3 2.300"
    />,
  ],
};

export function StepMark({ state }: { state: StepWord }) {
  const [colour, shape] = shapes[state];
  return (
    <svg class={`mark ${colour}`} width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
      {shape}
    </svg>
  );
}
