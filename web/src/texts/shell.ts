// What the frame around every place says.
export const shellTexts = {
  program: "Gaswright",
  places: "Places",
  skip: "To the content",
  close: "Close",
  undo: "Undo",
  again: "Try again",
  loading: "One moment",
  stopped: "The program has stopped; what is shown stays.",
  nowhere: {
    title: "There is nothing at this address",
    says: "A visit or an analyser may have been mistyped. The places above lead on.",
  },
  stranger: {
    title: "This window has no session",
    says: "The printed address opens the page once, in one browser. Start gaswright serve again and open the new address it prints.",
  },
  broken: {
    title: "This place could not be loaded",
    says: "The program does not answer. See that gaswright serve still runs, then try again.",
  },
  invented: "INVENTED DATA",
} as const;
