// The first thing anybody reads.
export const nowTexts = {
  welcome: {
    title: "What have you got?",
    says: "A second opinion on an on-line gas chromatograph, from a printed report to a signed handover. Nothing leaves this machine. It gives nobody leave to proceed: local rules, the permit and the maker's instructions come first.",
  },
  told: {
    title: "Nothing yet: a whole visit, told",
    says: "An invented visit in numbers: every run on its line, what was wrong, what was proved.",
    go: "Read it",
  },
  trouble: "The record cannot be read",
} as const;
