#pragma once
/// trace: the sampled detector signal, its peaks, and the printed report that may stand in for it.
/// Start from: read_trace (trace_file.hpp), find_peaks (peaks.hpp), read_report (report_table.hpp).
/// Source of terms: IUPAC nomenclature for chromatography (1993).
#include "trace/peaks.hpp"
#include "trace/report_table.hpp"
#include "trace/signal.hpp"
#include "trace/trace_file.hpp"
