// A visit and what was made of it, kept in step with the record; and the ways to write in it.
import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import { type Answer, address, get, on, post, upload } from "../../api/client";
import type { Act, Between, JudgedVisit, Judging, Problem, Standing } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { settings } from "../../shell/settings";
import { complain, say } from "../../shell/toast";
import { visitTexts } from "../../texts/visit";

export interface Grown {
  between: Between[];
  again: () => void;
  /** Leaves it unrecorded. */
  drop: () => void;
}

export interface VisitHandle {
  visit: Standing | null;
  judged: JudgedVisit | null;
  problem: Problem | null;
  reload: () => void;
  /** Somebody recorded in between: what came, and how to record all the same. */
  grown: Grown | null;
  /** Posts an act of that name; true when it was recorded. `about`: the step it concerns. */
  act: (name: string, body: Record<string, unknown>, about: string | null, news?: string) => Promise<boolean>;
  hand: (file: File, query: Record<string, string>, about: string, news?: string) => Promise<boolean>;
  undo: (entry: number) => Promise<boolean>;
}

const path = (id: string, rest = "") => `/api/v1/visits/${encodeURIComponent(id)}${rest}`;

/** Whether what came between changes nothing for an act on this step: then it is sent again as it is. */
export function harmless(between: Between[], about: string | null): boolean {
  return between.every(
    (entry) =>
      (entry.kind === "evidence" || entry.kind === "note") && entry.step !== null && entry.step !== about,
  );
}

export function useVisit(id: string): VisitHandle {
  const [visit, setVisit] = useState<Standing | null>(null);
  const [judged, setJudged] = useState<JudgedVisit | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [grown, setGrown] = useState<Grown | null>(null);
  const last = useRef(0);
  const known = useRef(0);
  const late = useRef(0);

  const judge = useCallback(() => {
    get<JudgedVisit>(path(id, "/judged")).then((answer) => {
      // An older answer that comes late must not stand over a newer one.
      if (answer.data && answer.data.last_entry >= last.current) {
        setJudged(answer.data);
        known.current = answer.data.last_entry;
      }
    });
  }, [id]);
  // Asks whether they are made; when they are not, an event tells of it, and one that got lost is not waited for.
  const expect = useCallback(
    function ask() {
      clearTimeout(late.current);
      if (known.current >= last.current) return;
      late.current = window.setTimeout(ask, 2000);
      get<Judging>(path(id, "/judging")).then(({ data }) => {
        if (data && data.judged_to === data.last_entry) judge();
      });
    },
    [id, judge],
  );
  const take = useCallback(
    (next: Standing) => {
      if (next.last_entry < last.current) return;
      const news = next.last_entry > last.current;
      last.current = next.last_entry;
      setVisit(next);
      if (news) expect();
    },
    [expect],
  );
  const reload = useCallback(() => {
    get<Standing>(path(id)).then((answer) => {
      setProblem(answer.problem);
      if (answer.data) take(answer.data);
    });
  }, [id, take]);

  useEffect(() => {
    last.current = 0;
    known.current = 0;
    reload();
    const heard = on("record", (news) => {
      if (news.subjects.some((each) => each.subject === id && each.last > last.current)) reload();
    });
    const made = on("judged", (news) => {
      if (news.visit === id && news.last_entry >= last.current && news.last_entry > known.current) judge();
    });
    const back = on("back", reload);
    // Minutes of the permit run by themselves.
    const clock = setInterval(reload, 60_000);
    return () => {
      heard();
      made();
      back();
      clearInterval(clock);
      clearTimeout(late.current);
    };
  }, [id, reload, judge]);

  const undo = async (entry: number) => {
    const answer = await post<Act>(path(id, "/undo"), { entry, by: settings.get().name });
    if (!answer.data) {
      complain(saidOf(answer.problem));
      return false;
    }
    take(answer.data.visit);
    say(visitTexts.form.undone);
    return true;
  };

  // Sends, looks at what came back, and sends again when what came between is no business of this step.
  const send = async (
    once: (seen: number) => Promise<Answer<Act>>,
    about: string | null,
    news: string | undefined,
    seen = last.current,
  ): Promise<boolean> => {
    const answer = await once(seen);
    if (answer.data) {
      const entry = answer.data.recorded.entry;
      take(answer.data.visit);
      if (news) say(news, () => void undo(entry));
      return true;
    }
    const between = answer.problem.between;
    if (answer.problem.code !== "grown" || !between) {
      complain(saidOf(answer.problem));
      return false;
    }
    const newest = between[between.length - 1]?.entry ?? seen;
    reload();
    if (harmless(between, about)) return send(once, about, news, newest);
    return new Promise((resolve) => {
      setGrown({
        between,
        again: () => {
          setGrown(null);
          send(once, about, news, newest).then(resolve);
        },
        drop: () => {
          setGrown(null);
          resolve(false);
        },
      });
    });
  };

  const act = (name: string, body: Record<string, unknown>, about: string | null, news?: string) =>
    send((seen) => post<Act>(path(id, `/${name}`), { by: settings.get().name, ...body, seen }), about, news);
  const hand = (file: File, query: Record<string, string>, about: string, news?: string) =>
    send(
      (seen) =>
        upload<Act>(
          address(path(id, "/file"), {
            by: settings.get().name,
            ...query,
            name: file.name,
            seen: String(seen),
          }),
          file,
        ),
      about,
      news,
    );
  return { visit, judged, problem, reload, grown, act, hand, undo };
}
