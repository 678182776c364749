// Files dropped in: what each is, and what can be made of it.
import { useEffect, useRef, useState } from "preact/hooks";
import { address, upload } from "../../api/client";
import type { FileKind } from "../../api/types";
import { remembered } from "../../lib/picked";
import { saidOf } from "../../lib/problem";
import { handOver, taken } from "../../shell/handed";
import { places } from "../../shell/places";
import { go } from "../../shell/route";
import { complain, say } from "../../shell/toast";
import { filesTexts as texts } from "../../texts/files";
import { Bundle } from "./Bundle";
import { ColumnPicker, converted } from "./ColumnPicker";
import { KeepDialog } from "./KeepDialog";
import "./files.css";

interface Item {
  id: number;
  file: File;
  kind: FileKind | null;
  problem: string | null;
}

const most = 64 * 1024 * 1024;
const has = (id: string) => places.some((place) => place.id === id);

export default function FilesPlace() {
  const [items, setItems] = useState<Item[]>([]);
  const [over, setOver] = useState(false);
  const [picking, setPicking] = useState<Item | null>(null);
  const [keeping, setKeeping] = useState<Item | null>(null);
  const next = useRef(1);
  const put = (id: number, part: Partial<Item>) =>
    setItems((now) => now.map((item) => (item.id === id ? { ...item, ...part } : item)));

  const look = async (id: number, file: File) => {
    const answer = await upload<FileKind>(address("/api/v1/files/look", { name: file.name }), file);
    if (!answer.data) return put(id, { problem: saidOf(answer.problem) });
    const kind = answer.data;
    put(id, { kind });
    const before = kind.kind === "table" && kind.columns ? remembered(kind.columns) : null;
    if (!before || !kind.columns) return;
    const run = await converted(file, kind.columns, before);
    if (typeof run === "string") return;
    say(texts.columns.known);
    put(id, { file: run });
    await look(id, run);
  };
  const take = (files: Iterable<File>) => {
    for (const file of files) {
      if (file.size > most) {
        complain(`${file.name}: ${texts.tooLarge}`);
        continue;
      }
      const id = next.current++;
      setItems((now) => [...now, { id, file, kind: null, problem: null }]);
      look(id, file);
    }
  };
  const away = (id: number) => setItems((now) => now.filter((item) => item.id !== id));

  const takeHanded = () => {
    for (let handed = taken("unlooked"); handed; handed = taken("unlooked")) take([handed.file]);
  };
  useEffect(() => {
    takeHanded();
    const drag = (event: DragEvent) => setOver(event.type === "dragover");
    const drop = () => {
      setOver(false);
      setTimeout(takeHanded); // when the frame around the places has caught it
    };
    addEventListener("dragover", drag);
    addEventListener("dragleave", drag);
    addEventListener("drop", drop);
    return () => {
      removeEventListener("dragover", drag);
      removeEventListener("dragleave", drag);
      removeEventListener("drop", drop);
    };
  }, []);

  const onward = (item: Item, place: string) => {
    if (!item.kind) return;
    handOver({ file: item.file, kind: item.kind.kind });
    go(place);
  };
  return (
    <div class="frame">
      <main class="column">
        <h1>{texts.title}</h1>
        <label class={over ? "sheet drop over" : "sheet drop"}>
          <span>{over ? texts.drop : texts.says}</span>
          <span class="button">{texts.choose}</span>
          <input
            class="unseen"
            type="file"
            multiple
            onChange={(event) => {
              take(event.currentTarget.files ?? []);
              event.currentTarget.value = "";
            }}
          />
        </label>
        <ul class="files">
          {items.map((item) => (
            <li key={item.id} class="sheet">
              <header>
                <h2>{item.file.name}</h2>
                <b>{item.kind ? texts.kinds[item.kind.kind] : ""}</b>
              </header>
              <p class={item.problem ? "wrong" : ""}>{item.problem ?? item.kind?.says ?? texts.looking}</p>
              {item.kind?.problem && <p class="soft small">{item.kind.problem.what}</p>}
              {item.kind?.kind === "bundle" && <Bundle file={item.file} />}
              <div class="buttons">
                {item.kind?.kind === "report" && has("look") && (
                  <button type="button" class="main" onClick={() => onward(item, "/look")}>
                    {texts.look}
                  </button>
                )}
                {item.kind?.kind === "trace" && has("trace") && (
                  <button type="button" class="main" onClick={() => onward(item, "/trace")}>
                    {texts.trace}
                  </button>
                )}
                {item.kind?.columns && (
                  <button type="button" class="main" onClick={() => setPicking(item)}>
                    {texts.columns.open}
                  </button>
                )}
                {item.kind && item.kind.kind !== "table" && item.kind.kind !== "bundle" && (
                  <button type="button" onClick={() => setKeeping(item)}>
                    {texts.keep}
                  </button>
                )}
                <button type="button" class="quiet" onClick={() => away(item.id)}>
                  {texts.away}
                </button>
              </div>
            </li>
          ))}
        </ul>
      </main>
      {picking?.kind?.columns && (
        <ColumnPicker
          file={picking.file}
          sample={picking.kind.columns}
          close={() => setPicking(null)}
          made={(run) => {
            put(picking.id, { file: run, kind: null });
            look(picking.id, run);
            setPicking(null);
          }}
        />
      )}
      {keeping?.kind && (
        <KeepDialog
          file={keeping.file}
          kind={keeping.kind.kind}
          close={() => setKeeping(null)}
          done={() => {
            away(keeping.id);
            setKeeping(null);
          }}
        />
      )}
    </div>
  );
}
