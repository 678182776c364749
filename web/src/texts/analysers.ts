export const analysersTexts = {
  title: "How has each analyser behaved, and what is due?",
  says: "What the visits in the record established, and what the results of a replay say run by run.",
  results: "Look at a results file",
  resultsSays:
    "The table of gaswright assay replay, or any table of readings over time. A year of runs is no trouble.",
  example: "Try an example",
  away: "Put it away",
  due: "Due",
  nothingDue: "Nothing falls due within four months.",
  left: (days: number) =>
    days < 0
      ? `${-days} ${days === -1 ? "day" : "days"} past`
      : days === 0
        ? "today"
        : `in ${days} ${days === 1 ? "day" : "days"}`,
  analysers: "Analysers",
  none: "The record knows no analyser yet. A visit makes the one it goes to.",
  module: "oven module in it",
  noModule: "which oven module is in it is not recorded",
  visits: (n: number) => (n === 0 ? "no visit yet" : n === 1 ? "one visit" : `${n} visits`),
  lastVisit: "last",
  cylinders: "Cylinders",
  noCylinders: "No cylinder is recorded.",
  expiry: "days left, certificate",
  lastRead: (on: string) => `last read ${on}`,
  lasts: {
    title: "days left, gas",
    days: (n: string) => `${n} days`,
    unknown: "not known",
    open: "no end",
    between: (from: string, to: string, n: number) => `95 %: ${from} to ${to} days, by ${n} readings`,
    of: (n: number) => `by ${n} readings`,
    falls: (what: string) => `falls ${what} a day`,
  },
  pressure: "pressure left",
  cold: "coldest it has been",
  decide: "can it decide the limit? (2 u)",
  sum: "sum of the certificate",
  uncertified: "Its certificate is not known well enough to judge it.",
  modules: "Oven modules",
  noModules: "No oven module is recorded.",
  in: (analyser: string) => `in ${analyser}`,
  out: (analyser: string) => `out of ${analyser}`,
  undone: "taken back",
  others: "People, instruments, sites",
  invented: "INVENTED",
  trouble: "The record cannot be read",
  unknown: "The record knows no such analyser.",
  passport: "What is known",
  back: "All analysers",
  roles: { calibration: "calibration gas", proving: "proving gas" },
} as const;

export const historyTexts = {
  title: "Over time",
  column: "What is charted",
  against: {
    legend: "Heights",
    choices: [
      ["read", "As read"],
      ["centre", "From each stretch's own centre"],
    ],
  },
  empty: "No visit has established a number yet.",
  plot: (column: string, n: number) =>
    `${column}, ${n} readings over time, with the control charts' limits. The table below says the same.`,
  nowhere: "Point at the chart to read it.",
  exchange: "exchange",
  stretch: "stretch",
  from: "from",
  to: "to",
  n: "readings",
  centre: "centre",
  limits: "limits of single readings",
  state: "state",
  since: "since",
  first: "from the beginning",
  states: {
    not_yet: "too few to judge",
    in_control: "in control",
    outliers: "single readings out",
    scatter: "scatter has grown",
    shifted: "shifted",
    step: "a lasting step",
    drift: "drifting",
  } as Record<string, string>,
  signals: (shown: number, all: number) =>
    all > shown
      ? `${shown} of ${all} signals are marked.`
      : all === 0
        ? "No signal."
        : all === 1
          ? "One signal."
          : `${all} signals.`,
  alarms: (days: string) =>
    `Limits are set so that all charts together give one false alarm in ${days} days.`,
  corrected: { barometer: "brought to one pressure of the air", methane: "over that of methane" } as Record<
    string,
    string
  >,
  aside: "a corrected chart decides in its place",
  readings: (n: number) => (n === 1 ? "The one reading" : `The ${n} readings`),
  wait: "Working the charts out",
} as const;
