// The factors of a visit's calibrations, beside the stage whose evidence they are.
import { getFactors } from "../../api/desk";
import { saidOf } from "../../lib/problem";
import FactorPicture from "../../parts/FactorPicture";
import { useFetched } from "../../parts/useFetched";
import { factorTexts as texts } from "../../texts/pictures";
import type { PictureProps } from "./pictures";

export default function FactorEvidence({ visit, last, bases }: PictureProps) {
  const { data, problem } = useFetched(`${visit} ${last}`, (signal) => getFactors(visit, signal));
  const pictures = data?.pictures.filter((picture) => bases.includes(picture.basis)) ?? [];
  if (data && pictures.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="factors-title" aria-busy={!data}>
      <header>
        <h2 id="factors-title">{texts.title}</h2>
      </header>
      {problem && (
        <p role="alert" class="wrong">
          {texts.trouble} {saidOf(problem)}
        </p>
      )}
      {!data && !problem && <p class="soft loading">{texts.fetching}</p>}
      {pictures.map((picture) => (
        <div key={picture.basis}>
          {(bases.length > 1 || pictures.length > 1) && <h3>{texts.basis[picture.basis]}</h3>}
          <FactorPicture sets={picture.sets} pairs={picture.pairs} />
        </div>
      ))}
    </section>
  );
}
