// Every place of the page: its address, what is loaded for it and only then. The server answers the same
// addresses (src/serve/page.cpp). Names and questions: texts/places.ts.
import type { ComponentType } from "preact";
import type { PlaceId } from "../texts/places";

export interface PlaceProps {
  /** What stands in the address where the path has ":name". */
  params: Record<string, string>;
}

export interface Place {
  id: PlaceId;
  path: string;
  /** Stands among the places to go to; the others are reached from one of these. */
  listed: boolean;
  load: () => Promise<{ default: ComponentType<PlaceProps> }>;
}

export const places: Place[] = [
  { id: "now", path: "/", listed: true, load: () => import("../pages/now/NowPlace") },
  { id: "visits", path: "/visits", listed: true, load: () => import("../pages/visits/VisitsPlace") },
  { id: "visit", path: "/visit/:id", listed: false, load: () => import("../pages/visit/VisitPlace") },
  { id: "files", path: "/files", listed: true, load: () => import("../pages/files/FilesPlace") },
  { id: "look", path: "/look", listed: true, load: () => import("../pages/look/LookPlace") },
  {
    id: "analysers",
    path: "/analysers",
    listed: true,
    load: () => import("../pages/analysers/AnalysersPlace"),
  },
  {
    id: "analyser",
    path: "/analysers/:tag",
    listed: false,
    load: () => import("../pages/analysers/AnalyserPlace"),
  },
  { id: "trace", path: "/trace", listed: true, load: () => import("../pages/trace/TracePlace") },
  { id: "twin", path: "/twin", listed: true, load: () => import("../pages/twin/TwinPlace") },
  { id: "sums", path: "/sums", listed: true, load: () => import("../pages/sums/SumsPlace") },
  { id: "sum", path: "/sums/:sum", listed: false, load: () => import("../pages/sums/SumsPlace") },
  { id: "demo", path: "/demo", listed: true, load: () => import("../pages/demo/DemoPlace") },
  { id: "settings", path: "/settings", listed: true, load: () => import("../pages/settings/SettingsPlace") },
];
