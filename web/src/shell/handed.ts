// A file on its way from one place of the page to another: dropped among the files, looked at elsewhere. It lives as
// long as the page and is taken once.

export interface Handed {
  file: File;
  /** "report", "trace", ...: what the program said it is; "unlooked": it has not been asked. */
  kind: string;
}

let waiting: Handed[] = [];

export function handOver(...handed: Handed[]): void {
  waiting = handed;
}

/** The first file that was handed over and is of one of these kinds; it is not there any more afterwards. */
export function taken(...kinds: string[]): Handed | null {
  const at = waiting.findIndex((each) => kinds.includes(each.kind));
  if (at < 0) return null;
  const [handed] = waiting.splice(at, 1);
  return handed ?? null;
}

/** Files dropped anywhere go to the place that looks at files. Answers how to stop listening. */
export function catchDrops(onward: () => void): () => void {
  const over = (event: DragEvent) => {
    if (event.dataTransfer?.types.includes("Files")) event.preventDefault();
  };
  const drop = (event: DragEvent) => {
    const files = [...(event.dataTransfer?.files ?? [])];
    if (event.defaultPrevented || files.length === 0) return;
    event.preventDefault(); // else the browser would leave the page for the file
    handOver(...files.map((file) => ({ file, kind: "unlooked" })));
    onward();
  };
  addEventListener("dragover", over);
  addEventListener("drop", drop);
  return () => {
    removeEventListener("dragover", over);
    removeEventListener("drop", drop);
  };
}
