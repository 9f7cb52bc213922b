import { say } from "./language";

/** The texts of the drawing of what is connected to what, in English. */
export const connectionWords = say("connection", {
  /** What is said to those who do not see the drawing. */
  drawing: (parts: string) => `Drawing, from the pressure source on: ${parts}`,
  parts: {
    source: "Pressure source with fine adjustment",
    isolate: "Isolation valve",
    vent: "Vent valve",
    standard: "Standard",
    instrument: "Instrument under test",
    others: "The other gauges of the manifold",
    loop: "Meter in the loop",
    contact: "Meter at the contact, out of the plant's circuit",
    system: "System under test, every other opening closed",
    disc: "Disc in its holder behind a shield, outlet led away",
    tester: "Air data test set: source and standard",
    cross: "Valve that joins pitot and static",
    static: "Static line",
    pitot: "Pitot line",
  },
  notes: {
    gauge: "The line to the process stays shut. Standard and instrument at one height, or state the difference.",
    manifold: "Each gauge is shut off from its process line. State the height of each one that is higher or lower.",
    leak: "The isolation valve is shut before the wait, so that the source cannot feed the leak.",
    switch: "The circuit of the plant is made safe first. The line to the process stays shut.",
    burst: "Keep everybody out of line with the outlet. Keep the volume small.",
    pitot: "Pitot never below static. Every other opening of the lines is closed.",
    static: "Every other opening of the static line is closed. An airspeed indicator on it: join pitot to static.",
  },
});
