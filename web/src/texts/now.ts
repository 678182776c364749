// The first thing anybody reads.
export const nowTexts = {
  welcome: {
    title: "What have you got?",
    says: "A second opinion on an on-line gas chromatograph, from a printed report to a signed handover. Nothing leaves this machine. It gives nobody leave to proceed: local rules, the permit and the maker's instructions come first.",
  },
  demo: {
    title: "Nothing yet",
    says: "An invented visit, from the job pack to both signatures: at each step the demonstration hands in what it recorded. It is kept apart from your own record.",
    play: "Play a whole visit",
    read: "Read it in numbers",
  },
  mine: {
    title: "An analyser",
    says: "A printed report is enough for a first answer: no set-up, nothing kept. Or open a visit and go through it step by step.",
    look: "Type or paste a report",
    visit: "Open a visit",
  },
  files: {
    title: "Files",
    says: "Runs, reports, certificates, a bundle somebody sent. Drop them here, or choose them.",
    choose: "Choose files",
  },
  open: {
    title: "Open now",
    also: "Or begin something else",
  },
  trouble: "The record cannot be read",
} as const;
