// The name of each place, as short as a button, and the question that it answers.
export const placeTexts = {
  now: { name: "Now", asks: "What is to be done now?" },
  visits: { name: "Visits", asks: "Which calls to site are there?" },
  visit: { name: "Visit", asks: "Where does this visit stand?" },
  look: { name: "First look", asks: "What does a printed report say by itself?" },
  analysers: { name: "Analysers", asks: "How has each analyser behaved, and what is due?" },
  analyser: { name: "Analyser", asks: "How has this analyser behaved?" },
  trace: { name: "Traces", asks: "What is in this run?" },
  twin: { name: "Twin", asks: "What happens when a valve moves?" },
  sums: { name: "Sums", asks: "How much, how long, how tight?" },
  sum: { name: "Sum", asks: "What does this sum give?" },
  files: { name: "Files", asks: "What can be made of these files?" },
  demo: { name: "Told visit", asks: "How does a whole visit look in numbers?" },
  settings: { name: "Settings", asks: "How shall the page look, and who records?" },
} as const;

export type PlaceId = keyof typeof placeTexts;
