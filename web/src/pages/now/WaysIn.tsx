// The three ways in: with nothing, with an analyser, with files.
import { useState } from "preact/hooks";
import { post } from "../../api/client";
import type { VisitId } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { handOver } from "../../shell/handed";
import { places } from "../../shell/places";
import { go } from "../../shell/route";
import { settings } from "../../shell/settings";
import { complain } from "../../shell/toast";
import { nowTexts as texts } from "../../texts/now";

function Play() {
  const [busy, setBusy] = useState(false);
  const play = async () => {
    setBusy(true);
    const answer = await post<VisitId>("/api/v1/demo", { by: settings.get().name });
    setBusy(false);
    if (answer.data) go(`/visit/${encodeURIComponent(answer.data.visit)}`);
    else complain(saidOf(answer.problem));
  };
  return (
    <button type="button" class="main" disabled={busy} onClick={play}>
      {texts.demo.play}
    </button>
  );
}

export function WaysIn() {
  const look = places.find((place) => place.id === "look");
  return (
    <ul class="ways">
      <li class="sheet">
        <h2>{texts.demo.title}</h2>
        <p>{texts.demo.says}</p>
        <div class="buttons">
          <Play />
          <a class="button" href="/demo">
            {texts.demo.read}
          </a>
        </div>
      </li>
      <li class="sheet">
        <h2>{texts.mine.title}</h2>
        <p>{texts.mine.says}</p>
        <div class="buttons">
          {look && (
            <a class="button main" href={look.path}>
              {texts.mine.look}
            </a>
          )}
          <a class="button" href="/visits">
            {texts.mine.visit}
          </a>
        </div>
      </li>
      <li class="sheet">
        <h2>{texts.files.title}</h2>
        <p>{texts.files.says}</p>
        <label class="button file-way">
          {texts.files.choose}
          <input
            class="unseen"
            type="file"
            onChange={(event) => {
              const file = event.currentTarget.files?.[0];
              if (!file) return;
              handOver({ file, kind: "unlooked" });
              go("/files");
            }}
          />
        </label>
      </li>
    </ul>
  );
}
