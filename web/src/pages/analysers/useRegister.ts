// What both records know; asked again when one of them grows.
import { useEffect, useState } from "preact/hooks";
import { on } from "../../api/client";
import { type Book, getRegister } from "../../api/desk";
import type { Problem, Register } from "../../api/types";

export interface Registers {
  own: Register | null;
  invented: Register | null;
  problem: Problem | null;
}

export function useRegisters(): Registers {
  const [all, setAll] = useState<Registers>({ own: null, invented: null, problem: null });
  useEffect(() => {
    const ask = (book: Book) =>
      getRegister(book).then((answer) =>
        setAll((now) => ({
          ...now,
          [book]: answer.data,
          problem: book === "own" ? answer.problem : now.problem,
        })),
      );
    const both = () => {
      ask("own");
      ask("invented");
    };
    both();
    const off = [on("record", both), on("back", both)];
    return () => {
      for (const stop of off) stop();
    };
  }, []);
  return all;
}
