import { say } from "./language";

/** The texts of the cautions before any pressure, in English. */
export const cautionWords = say("cautions", {
  title: "Before any pressure",
  law: "Local codes, the site's permits and the maintenance manual come first. Work only on what your licence and training cover.",
  read: "Tick each line when you have checked it.",
  go: "All checked: go on",
  permit: "Permit to work: number",
  permitHint: "Where the site needs one. It is signed with the visit and printed on its paper.",
  permitNone: "none",
  permitOfSet: "As for the other gauges of this manifold",
  permitChange: "Change the permit's number for this gauge",
  codes: {
    lock_out:
      "The line is isolated, locked and tagged, and the person responsible for it knows that you are working on it.",
    stand_aside:
      "Keep everybody away from the front and back of the instrument and from fittings while pressure rises.",
    vent: "Before a fitting is loosened: vent, and prove zero on a second indication.",
    stored_energy:
      "Gas under pressure and charged hoses hold energy. Keep the volume small, raise pressure slowly, restrain hoses.",
    oxygen:
      "Oxygen service: only clean, oil-free tools, hoses and medium made for oxygen. If in doubt, do not connect.",
    toxic: "The medium is harmful. Purge it, measure the air, wear what the site requires, and vent to a safe place.",
    flight:
      "Aircraft system: follow the maintenance manual, its rate limits and its release to service. This program replaces none of them.",
    vacuum: "Vacuum: check that the instrument and the vessel can take it.",
    asphyxiation:
      "This gas displaces the air in a closed room and can suffocate without warning: ventilate, measure the oxygen, and lead the vent outdoors.",
    hot: "Hot parts or medium: let them cool, or wear protection.",
  } as Record<string, string>,
});
