// Who is known, with the roles that some steps ask for.

import { useEffect, useState } from "preact/hooks";
import { get, post } from "../../api/client";
import type { People } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { TextField } from "../../parts/TextField";
import { WrongWords } from "../../parts/Wrong";
import { settings } from "../../shell/settings";
import { settingsTexts } from "../../texts/settings";

const texts = settingsTexts.people;

export function PeopleSheet() {
  const [people, setPeople] = useState<People["people"]>([]);
  const [name, setName] = useState("");
  const [roles, setRoles] = useState("");
  const [problem, setProblem] = useState<string | null>(null);
  useEffect(() => {
    get<People>("/api/v1/people").then(({ data }) => setPeople(data?.people ?? []));
  }, []);
  const add = async (event: Event) => {
    event.preventDefault();
    const list = roles
      .split(",")
      .map((role) => role.trim())
      .filter((role) => role !== "");
    const answer = await post<People>("/api/v1/people", {
      name: name.trim(),
      roles: list,
      by: settings.get().name,
    });
    setProblem(answer.problem && saidOf(answer.problem));
    if (!answer.data) return;
    setPeople(answer.data.people);
    setName("");
    setRoles("");
  };
  return (
    <section class="sheet column tight" aria-labelledby="people-title">
      <header>
        <h2 id="people-title">{texts.title}</h2>
        <p class="soft">{texts.says}</p>
      </header>
      {people.length > 0 && (
        <ul>
          {people.map((person) => (
            <li key={`${person.name} ${person.invented}`}>
              <b>{person.name}</b> {person.roles.join(", ")}
              {person.invented && <span class="soft"> {texts.invented}</span>}
            </li>
          ))}
        </ul>
      )}
      <form class="column tight" onSubmit={add}>
        <div class="fields">
          <TextField says={texts.name} value={name} set={setName} autocomplete="off" maxLength={80} />
          <TextField says={texts.roles} value={roles} set={setRoles} autocomplete="off" />
        </div>
        <WrongWords says={problem} />
        <button type="submit" disabled={name.trim() === ""}>
          {texts.add}
        </button>
      </form>
    </section>
  );
}
