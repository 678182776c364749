import { useEffect, useState } from "preact/hooks";
import { getExample, openTwin } from "../../api/desk";
import type { Problem, Twin } from "../../api/types";
import { keep, kept } from "../../lib/kept";
import { FileButton, textOfFile } from "../../parts/FileButton";
import { PlaceFrame } from "../../parts/PlaceFrame";
import { Wrong } from "../../parts/Wrong";
import { say } from "../../shell/toast";
import { twinTexts as texts } from "../../texts/twin";
import { Bench } from "./Bench";
import { FitSheet } from "./FitSheet";
import "./twin.css";

interface Given {
  method: { name: string; text: string } | null;
  gas: { name: string; text: string } | null;
}
const nothing: Given = { method: null, gas: null };
const isFile = (value: unknown) =>
  value === null || (typeof value === "object" && typeof (value as { text: unknown }).text === "string");
const isGiven = (value: unknown): value is Given =>
  typeof value === "object" &&
  value !== null &&
  isFile((value as Given).method) &&
  isFile((value as Given).gas);

export default function TwinPlace() {
  const [given, setGiven] = useState<Given>(() => kept("twin", nothing, isGiven));
  const [twin, setTwin] = useState<Twin | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const put = (next: Given) => {
    setGiven(next);
    keep("twin", next);
    setTwin(null);
    if (next.method && next.gas)
      openTwin(next.method.text, next.gas.text).then((answer) => {
        setTwin(answer.data);
        setProblem(answer.problem);
      });
  };
  // What was open before is open again.
  useEffect(() => put(given), []);
  const open = async (part: "method" | "gas", file: File) =>
    put({ ...given, [part]: { name: file.name, text: await textOfFile(file) } });
  const example = async () => {
    const [method, gas] = await Promise.all(["method.json", "line_gas.json"].map(getExample));
    if (method?.data && gas?.data) put({ method: method.data, gas: gas.data });
  };
  const goOn = (method: { name: string; text: string }) => {
    put({ ...given, method });
    window.scrollTo(0, 0);
    say(texts.fit.goesOn);
  };
  return (
    <PlaceFrame
      title={texts.title}
      says={twin && given.method && given.gas ? texts.opened(twin.name, given.gas.name) : texts.says}
    >
      <div class="buttons">
        <FileButton
          says={given.method ? `${texts.method}: ${given.method.name}` : texts.method}
          accept=".json,application/json"
          main={!given.method}
          open={(file) => open("method", file)}
        />
        <FileButton
          says={given.gas ? `${texts.gas}: ${given.gas.name}` : texts.gas}
          accept=".json,application/json"
          main={!given.gas && given.method !== null}
          open={(file) => open("gas", file)}
        />
        <button type="button" class="quiet" onClick={example}>
          {texts.example}
        </button>
      </div>
      <Wrong problem={problem} where />
      {twin && <Bench key={twin.id} twin={twin} />}
      {twin && <FitSheet twin={twin} goOn={goOn} />}
    </PlaceFrame>
  );
}
