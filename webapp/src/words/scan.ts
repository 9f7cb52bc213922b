import { say } from "./language";

/** scanWords are the texts of the scanner. */
export const scanWords = say("scan", {
  title: "Scan a tag",
  hint: "Hold the tag's square code in view.",
  stop: "Stop the camera",
  refused: "The camera is not available here. Type the tag, or take a photo of the code.",
  photo: "Photo of a code",
  nothing: "No code was found in that picture.",
  foreign: "That code does not belong to this program. It reads:",
  light: "Light",
});
