export const plotTexts = {
  keys: "Arrow keys move along it and make small things taller, plus and minus zoom, zero shows the whole.",
  tools: "What is seen",
  into: "Closer",
  out: "Further away",
  whole: "Whole",
  wholeLong: "Show the whole",
  taller: "Make small things taller",
  root: "Heights by their square root, so that small peaks are seen",
  flatter: "Make them flatter again",
  unnamed: "not named",
} as const;
