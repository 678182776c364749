export const demoTexts = {
  trouble: "The told visit cannot be shown",
} as const;
