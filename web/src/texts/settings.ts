export const settingsTexts = {
  title: "Settings",
  kept: "Kept in this browser only; nothing of it is recorded.",
  scheme: {
    legend: "Colours",
    choices: [
      ["device", "As the device"],
      ["light", "Light"],
      ["dark", "Dark"],
    ],
  },
  contrast: {
    legend: "Contrast",
    choices: [
      ["device", "As the device"],
      ["more", "High"],
    ],
  },
  system: {
    legend: "Units shown",
    choices: [
      ["si", "SI: MJ/m³, °C, kPa"],
      ["us", "US: Btu/ft³, °F, psi"],
    ],
    says: "What is recorded keeps the unit it was typed in. Values are turned as they are: reference temperatures and pressures stay those of the finding.",
  },
  mark: {
    legend: "Decimal mark",
    choices: [
      ["point", "1.25"],
      ["comma", "1,25"],
    ],
    says: "In fields for a number both are taken.",
  },
  name: {
    label: "Who records",
    says: "Stands beside everything recorded from this browser. Left empty: ",
  },
  sample: "So a value looks:",
  people: {
    title: "People",
    says: "Some steps ask for a role, such as electrical. Who is known without it is refused; who is not known is taken at his word.",
    name: "Name of a person",
    roles: "Roles, with commas between",
    add: "Make known",
    invented: "of the invented visit",
  },
} as const;
