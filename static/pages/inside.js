import { startForm } from "../parts/form_page.js";

startForm("inside", [["shape", "shape"], ["opening_shape", "opening"], ["opening_in", "side"]]);
