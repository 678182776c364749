// Laws of the trace reader: the same samples whatever the dialect they were written in.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

#include "trace/trace_file.hpp"

namespace gw::trace {
namespace {

/// A file as some program may write it.
struct Written {
    std::string text;
    bool has_time = true;
};

std::string repeated_preamble(int lines) {
    static std::vector<std::string> const some = {"Instrument: X 12",
                                                  "Sample Name;foo",
                                                  "Operator\tN. N.",
                                                  "",
                                                  "Remark, with, commas",
                                                  "Started 2026-03-02 at 10:15",
                                                  "17"};
    std::string out;
    for (int i = 0; i < lines; ++i) out += some[static_cast<std::size_t>(i) % some.size()] + "\n";
    return out;
}

std::string encoded(std::string const& text, int encoding) {
    if (encoding == 1) return "\xEF\xBB\xBF" + text;
    if (encoding < 2) return text;
    std::string out = encoding == 2 ? "\xFF\xFE" : "\xFE\xFF";
    for (char const c : text) {
        if (encoding == 3) out += '\0';
        out += c;
        if (encoding == 2) out += '\0';
    }
    return out;
}

std::string with_line_ends(std::string const& text, std::string_view end) {
    std::string out;
    for (char const c : text) {
        if (c == '\n')
            out += end;
        else
            out += c;
    }
    return out;
}

Written written(std::vector<std::vector<float>> const& signals, double interval_s) {
    auto const pick = [](int count) { return *rc::gen::inRange(0, count); };
    std::string const delimiter =
        std::vector<std::string>{",", ";", "\t", " ", "   "}[static_cast<std::size_t>(pick(5))];
    bool const quoted = pick(4) == 0;
    bool const decimal_comma = (delimiter != "," || quoted) && pick(2) == 1;
    int const unit = pick(3);
    double const per_second =
        std::vector<double>{1, 1 / 60.0, 1000}[static_cast<std::size_t>(unit)];
    std::string const unit_name =
        std::vector<std::string>{"s", "min", "ms"}[static_cast<std::size_t>(unit)];
    int const titles = pick(4);  // none, in one row, with a row of units, with a header line
    bool const has_time = pick(5) != 0;
    auto const cell = [&](std::string text) {
        if (decimal_comma) std::ranges::replace(text, '.', ',');
        return quoted ? "\"" + text + "\"" : text;
    };
    auto const join = [&](std::vector<std::string> const& parts) {
        std::string out;
        for (auto const& part : parts) out += (out.empty() ? "" : delimiter) + part;
        return out + "\n";
    };

    std::string text;
    if (pick(2) == 1) text += "# analyser: GC-1\n";
    // Titles tell one quoted column with decimal commas from two columns; so does a second column.
    bool const stated =
        titles != 0 || (unit == 0 && (has_time || signals.size() > 1 || !decimal_comma));
    if (titles == 3) text += "# time_unit: " + unit_name + "\n";
    text += repeated_preamble(pick(6));
    if (titles != 0 || !stated) {
        std::vector<std::string> names, units;
        if (has_time) {
            bool const in_title = titles == 1 || !stated;
            names.push_back(
                cell(in_title ? (pick(2) == 1 ? "Time(" + unit_name + ")" : "time_" + unit_name)
                              : "Time"));
            units.push_back(cell(unit_name));
        }
        for (std::size_t s = 0; s < signals.size(); ++s) {
            names.push_back(cell(fmt::format("signal_{}", s + 1)));
            units.push_back(cell("mV"));
        }
        text += join(names);
        if (titles == 2) text += join(units);
    }
    for (std::size_t i = 0; i < signals[0].size(); ++i) {
        std::vector<std::string> parts;
        if (has_time)
            parts.push_back(
                cell(fmt::format("{:.9f}", static_cast<double>(i) * interval_s * per_second)));
        for (auto const& signal : signals) parts.push_back(cell(fmt::format("{}", signal[i])));
        text += join(parts);
    }
    text = with_line_ends(
        text, std::vector<std::string>{"\n", "\r\n", "\r"}[static_cast<std::size_t>(pick(3))]);
    return {encoded(text, pick(4)), has_time};
}

/// Waves, not lines: a signal that grows by even steps is a time to any reader without titles.
std::vector<std::vector<float>> some_signals() {
    auto const detectors = *rc::gen::inRange<std::size_t>(1, 4);
    auto const samples = *rc::gen::inRange<std::size_t>(16, 120);
    std::vector<std::vector<float>> out(detectors);
    for (auto& signal : out)
        for (std::size_t i = 0; i < samples; ++i)
            signal.push_back(static_cast<float>(*rc::gen::inRange(-100000, 100000)) *
                                 (i % 2 == 0 ? 0.001F : -0.37F) +
                             0.123F);
    return out;
}

RC_GTEST_PROP(TraceFile, ReadsTheSameSamplesInEveryDialect, ()) {
    auto const signals = some_signals();
    double const interval =
        *rc::gen::elementOf(std::vector<double>{0.02, 0.1, 0.05, 1, 1 / 30.0, 1 / 60.0, 0.0125});
    auto const file = written(signals, interval);
    TraceReadOptions options;
    if (!file.has_time) options.rate_hz = 1 / interval;
    auto const trace = read_trace(file.text, "run.csv", options);
    if (!trace) RC_FAIL(one_line(trace.error()) + "\n" + file.text.substr(0, 400));
    RC_ASSERT(trace->signals == signals);
    RC_ASSERT(std::abs(trace->interval_s - interval) < 1e-9 * interval);
    RC_ASSERT(trace->gaps.empty());
}

RC_GTEST_PROP(TraceFile, WritesWhatItReadsBack, (std::uint8_t gap_seed)) {
    Trace trace;
    trace.signals = some_signals();
    trace.interval_s =
        *rc::gen::elementOf(std::vector<double>{0.02, 1 / 3.0, 1 / 7.0, 0.123456789012345, 12.5});
    trace.start_s = *rc::gen::elementOf(std::vector<double>{0, -2.5, 1000.125, 1e6});
    trace.unit = "\xC2\xB5V";
    trace.header = {{"analyser", "GC-1"}, {"time_unit", "min"}};
    if (gap_seed % 2 == 1)
        trace.gaps.push_back({3, 4});  // not straight: must be written all the same
    auto const again = read_trace(trace_csv(trace), "again.csv");
    RC_ASSERT(again.has_value());
    RC_ASSERT(again->signals == trace.signals);
    RC_ASSERT(again->interval_s == trace.interval_s);
    RC_ASSERT(std::abs(again->start_s - trace.start_s) < 1e-9);  // written to the nanosecond
    RC_ASSERT(again->unit == trace.unit);
    RC_ASSERT(again->header.at("analyser") == "GC-1");
}

}  // namespace
}  // namespace gw::trace
