// An answer of the program, asked for again when what it is about has changed; the last stands until the next is here.
import { useEffect, useState } from "preact/hooks";
import type { Answer } from "../api/client";
import type { Problem } from "../api/types";

export function useFetched<T>(of: string, ask: (signal: AbortSignal) => Promise<Answer<T>>) {
  const [data, setData] = useState<T | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  useEffect(() => {
    const away = new AbortController();
    ask(away.signal).then((answer) => {
      if (away.signal.aborted) return;
      setProblem(answer.problem);
      if (answer.data) setData(answer.data);
    });
    return () => away.abort();
  }, [of]);
  return { data, problem };
}
