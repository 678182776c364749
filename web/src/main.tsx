import { render } from "preact";
import { listen } from "./api/client";
import { follow } from "./shell/route";
import { Shell } from "./shell/Shell";
import { apply } from "./shell/settings";
import "./page.css";

apply();
follow();
listen();
const page = document.getElementById("page");
if (page) render(<Shell />, page);
