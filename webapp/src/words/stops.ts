import { say } from "./language";

/** The texts of what stops the work, in English. */
export const stopWords = say("stops", {
  title: "Do not apply pressure",
  damagedTitle: "Do not pressurise",
  connectedTitle: "Stop: is it connected?",
  said: "Answered no",
  notMet: "Not met",
  safe: "Make it safe",
  cautions:
    "Do not begin. If anything is under pressure: shut off the source, vent, and see zero on a second indication. Tell whoever is responsible for the line.",
  damaged:
    "Leave it without pressure. If it is under pressure: keep clear of glass and fittings, isolate it, vent, and see zero on a second indication. Tag it out. Tell the office and whoever is responsible for the line.",
  wrong: "This is not the instrument of this visit: its range and limits are different. Vent, then disconnect.",
  exchanged:
    "The instrument mounted here is not the one on record: its range and limits are not known. Leave it without pressure. Tell the office its tag, serial, maker and range. It can be tested once it is on record.",
  oxygen:
    "Connect nothing that may hold oil or grease. If it is connected: raise no pressure, take it off, and tell whoever is responsible. Whatever it touched must be cleaned first. Use a standard, hose and medium marked for oxygen. Local codes come first.",
  air: "Do not vent into the room. Leave it if its air may be short of oxygen, and keep others out; do not go in after somebody who has collapsed. Ventilate it from outside, lead the vent outdoors, and measure the oxygen before you go back in. Local codes come first.",
  service: {
    title: { oxygen: "Oxygen service", air: "Air in the room" },
    ask: {
      oxygen: "Are standard, hose, fittings and pressure medium clean for oxygen, free of oil and grease?",
      air: "This gas displaces air and can suffocate without warning. Is the room ventilated, and either its oxygen measured or the vent led outdoors? Outdoors, answer yes.",
    },
    holds: "Is this so here?",
    choose: "answer yes or no.",
    law: "Local codes and the site's permits come first.",
  },
  seen: "What was seen",
  again: "Put right and answer again",
  compare: "Compare tag and serial again",
  end: "End here: cannot be tested",
  putRight: "What was put right",
  needPutRight: "What was put right: write a few words.",
  why: "Why it cannot be tested",
  needWhy: "Why it cannot be tested: write a few words.",
  tagged: "Tagged out",
  vented: "Vented or without pressure, zero seen",
  notAll: "Something is not right",
  back: "Back",
  connected:
    "Leave the pressure as it is, or vent. Look at line, valves, fittings and wiring, and whether this is the instrument that is read.",
  look: "Read again",
  right: "It is connected, and the value is right",
  reason: "Why the value is right",
  identity: {
    title: "Is this the instrument?",
    same: "Tag and serial agree with the instrument?",
    ok: "They agree",
    differs: "Something differs",
    note: "What differs",
    condition: "Condition",
    sound: "Good",
    dirty: "Dirty, but can be tested",
    damaged: "Damaged: do not pressurise",
    way: "What is different?",
    wrong: "I am at another instrument",
    exchanged: "Another instrument is mounted here now",
    register: "It is this instrument and its dial shows the range above: the register is wrong",
    chooseWay: "What is different: choose one.",
    conditionNote: "What was seen",
    chooseIdentity: "Tag and serial: choose one.",
    chooseCondition: "Condition: choose one.",
    needNote: "What differs: write a few words.",
    needCondition: "What was seen: write a few words.",
  },
});
