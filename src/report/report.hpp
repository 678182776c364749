#pragma once
/// report: figures and pages. It draws what was judged elsewhere and judges nothing itself.
/// Start from: render (output.hpp), draw_trace (trace_figure.hpp), handover_pdf (handover.hpp).
/// One path of strokes for SVG, PNG and PDF; no clock, so that the same input gives the same bytes.
/// docs/report.md says what stands where, and why.
#include "report/canvas.hpp"
#include "report/comparison.hpp"
#include "report/handover.hpp"
#include "report/output.hpp"
#include "report/trace_figure.hpp"
