/** Every page with drawings: their lettering keeps its size. */
import { keepLettering } from "../lib/drawing_scale.js";

keepLettering(document.body);
