export const pressureTexts = {
  open: "Read its pressure",
  title: (what: string) => `Pressure of ${what}`,
  says: "As the gauge shows it. It moves what is left, and how long it lasts.",
  value: "Reading",
  unit: "Unit",
  kind: {
    legend: "The gauge reads",
    choices: [
      ["gauge", "Above the air (gauge)"],
      ["absolute", "Absolute"],
    ],
  },
  ambient: "Pressure of the air",
  ambientUnit: "Unit of it",
  ambientSays: "A gauge reads above the air: without the air its reading says nothing absolute.",
  temperature: (unit: string) => `Temperature where it stands, ${unit}`,
  temperatureSays: "If it is known: a cold cylinder reads low, and the coldest it has been is kept.",
  with: "Gauge, serial",
  by: "Who",
  keep: "Record it",
  wrong: {
    value: "The reading is no number.",
    ambient: "A gauge reading needs the pressure of the air, as a number.",
    temperature: "The temperature is no number.",
  },
  recorded: (what: string) => `Recorded: pressure of ${what}`,
} as const;
