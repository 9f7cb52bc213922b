const onwards = new Map([
  ["then", "this part is done"],
  ["else", "the other part is done"],
  ["again", "once more"],
]);

/** because says a decision of a programme with what follows from it. */
export const because = (reason: string, taken: string) => `${reason}: ${onwards.get(taken) ?? "it goes on"}`;
