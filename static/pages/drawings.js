/** Every page with drawings: their lettering keeps its size. */
import { keepLettering } from "../lib/drawing_scale.js";
import { firstFrame } from "../lib/first_frame.js";

await firstFrame();
keepLettering(document.body);
