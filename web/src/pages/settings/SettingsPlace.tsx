import { useEffect, useState } from "preact/hooks";
import { getStart } from "../../api/client";
import { formatted } from "../../lib/format";
import { Choices } from "../../parts/Choices";
import { peopleList } from "../../shell/People";
import { change, useSettings } from "../../shell/settings";
import { settingsTexts as texts } from "../../texts/settings";
import { PeopleSheet } from "./PeopleSheet";

export default function SettingsPlace() {
  const now = useSettings();
  const [user, setUser] = useState("");
  useEffect(() => {
    getStart().then(({ data }) => setUser(data?.user ?? ""));
  }, []);
  return (
    <div class="frame narrow">
      <main class="column">
        <section class="sheet column">
          <header>
            <h1>{texts.title}</h1>
            <p class="soft">{texts.kept}</p>
          </header>
          <label>
            <span>{texts.name.label}</span>
            <input
              value={now.name}
              maxLength={80}
              autocomplete="off"
              list={peopleList}
              aria-describedby="name-says"
              onInput={(event) => change({ name: event.currentTarget.value })}
            />
            <small id="name-says" class="soft">
              {texts.name.says}
              {user}
            </small>
          </label>
          <Choices {...texts.scheme} chosen={now.scheme} choose={(scheme) => change({ scheme })} />
          <Choices {...texts.contrast} chosen={now.contrast} choose={(contrast) => change({ contrast })} />
          <Choices {...texts.system} chosen={now.system} choose={(system) => change({ system })} />
          <p class="soft small">{texts.system.says}</p>
          <Choices {...texts.mark} chosen={now.mark} choose={(mark) => change({ mark })} />
          <p class="soft small">{texts.mark.says}</p>
          <p>
            {texts.sample} <b>{formatted({ value: 39.448, unit: "MJ/m3", expanded: 0.028 })}</b>
          </p>
        </section>
        <PeopleSheet />
      </main>
    </div>
  );
}
