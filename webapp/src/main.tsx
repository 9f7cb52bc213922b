import { render } from "preact";
import { applyChoices } from "./nav/choices";
import { Shell } from "./shell/shell";

applyChoices();
const place = document.getElementById("app");
if (place) render(<Shell />, place);
