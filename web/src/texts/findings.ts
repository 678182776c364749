export const findingTexts = {
  decides: "decides",
  limit: "limit",
  none: "No finding.",
} as const;
