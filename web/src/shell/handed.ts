// A file on its way from one place of the page to another: dropped among the files, looked at elsewhere. It lives as
// long as the page and is taken once.

export interface Handed {
  file: File;
  /** "report", "trace", ...: what the program said it is. */
  kind: string;
}

let waiting: Handed | null = null;

export function handOver(handed: Handed): void {
  waiting = handed;
}

/** The file that was handed over, if it is of one of these kinds; the next call answers null. */
export function taken(...kinds: string[]): Handed | null {
  if (!waiting || !kinds.includes(waiting.kind)) return null;
  const handed = waiting;
  waiting = null;
  return handed;
}
