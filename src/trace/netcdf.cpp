#include "trace/netcdf.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>

#include "base/hash.hpp"
#include "base/text.hpp"
#include "trace/netcdf_header.hpp"
#include "trace/trace_grid.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t fewest_samples = 16;
constexpr double never_written = 9.9e36;  // netCDF fills unwritten floats with 9.97e36

// A scalar wherever writers put it: a variable, an array of one, a number or a text attribute.
Result<std::optional<double>> scalar(std::string_view bytes,
                                     NcHeader const& header,
                                     std::string_view name,
                                     std::string const& source) {
    if (auto const* v = header.variable(name); v != nullptr && v->count >= 1) {
        GW_TRY(auto const values, nc_values(bytes, *v, source));
        return std::optional<double>(values.front());
    }
    if (auto const* a = header.attribute(name)) {
        if (!a->numbers.empty()) return std::optional<double>(a->numbers.front());
        if (auto const number = parse_number(a->text)) return std::optional<double>(*number);
    }
    return std::optional<double>();
}

std::string lower(std::string text) {
    for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    return text;
}

// Fit to stand in a line of a text file.
bool plain(std::string const& text) {
    auto const odd = [](char c) {
        return static_cast<unsigned char>(c) < ' ' || static_cast<unsigned char>(c) > '~';
    };
    return !text.empty() && text.size() < 400 && text.front() != ' ' && text.back() != ' ' &&
           text.front() != '#' && std::none_of(text.begin(), text.end(), odd);
}

// Seconds in one unit of the file's times.
Result<double> time_unit(NcHeader const& header, std::string const& source, Trace& trace) {
    auto const* unit = header.attribute("retention_unit");
    auto const word = unit == nullptr ? std::string() : lower(unit->text);
    if (word.empty()) {
        trace.warnings.push_back(
            fmt::format("{}: retention_unit is missing; seconds are taken.", source));
        return 1.0;
    }
    if (word == "s" || word.rfind("sec", 0) == 0) return 1.0;
    if (word == "m" || word.rfind("min", 0) == 0) return 60.0;
    return fail(Errc::bad_input,
                fmt::format("The time unit \"{}\" is not known.", word.substr(0, 40)),
                source + ":retention_unit",
                "give seconds or minutes");
}

// A float holds seven digits: the interval meant is the whole rate or the short decimal next to it.
double meant_interval(double interval_s) {
    for (double const scale : {1.0, 60.0}) {  // a second, a minute
        double const rate = scale / interval_s, whole = std::round(rate);
        if (whole >= 1 && std::abs(rate / whole - 1) < 3e-7) return scale / whole;
    }
    for (double const decimals : {1e3, 1e4, 1e5, 1e6}) {
        double const rounded = std::round(interval_s * decimals) / decimals;
        if (rounded > 0 && std::abs(rounded / interval_s - 1) < 3e-7) return rounded;
    }
    return interval_s;
}

// "20260302101500+0100"
std::optional<Instant> stamp(std::string const& text) {
    auto const digits = [&](std::size_t from, std::size_t count) {
        return std::all_of(text.begin() + static_cast<std::ptrdiff_t>(from),
                           text.begin() + static_cast<std::ptrdiff_t>(from + count),
                           [](char c) { return c >= '0' && c <= '9'; });
    };
    if (text.size() < 19 || !digits(0, 14) || (text[14] != '+' && text[14] != '-') ||
        !digits(15, 4))
        return {};
    auto const iso = fmt::format("{}-{}-{}T{}:{}:{}{}:{}",
                                 text.substr(0, 4),
                                 text.substr(4, 2),
                                 text.substr(6, 2),
                                 text.substr(8, 2),
                                 text.substr(10, 2),
                                 text.substr(12, 2),
                                 text.substr(14, 3),
                                 text.substr(17, 2));
    auto const instant = parse_instant(iso, "");
    return instant ? std::optional<Instant>(*instant) : std::nullopt;
}

Result<std::vector<float>> ordinates(std::string_view bytes,
                                     NcHeader const& header,
                                     std::string const& source) {
    auto const* v = header.variable("ordinate_values");
    if (v == nullptr)
        return fail(Errc::bad_input,
                    "The netCDF file has no variable ordinate_values: it holds no chromatogram.",
                    source,
                    "export raw data (category C1)");
    GW_TRY(auto const values, nc_values(bytes, *v, source));
    if (values.size() < fewest_samples)
        return fail(
            Errc::bad_input,
            fmt::format(
                "The trace has {} samples; at least {} are needed.", values.size(), fewest_samples),
            source,
            "export the whole run");
    double scale = 1, offset = 0;
    for (auto const& a : v->attributes) {
        if (a.name == "scale_factor" && !a.numbers.empty()) scale = a.numbers.front();
        if (a.name == "add_offset" && !a.numbers.empty()) offset = a.numbers.front();
    }
    std::vector<float> out;
    out.reserve(values.size());
    for (std::size_t i = 0; i < values.size(); ++i) {
        auto const sample = static_cast<float>(values[i] * scale + offset);
        if (!std::isfinite(sample) || std::abs(values[i]) > never_written)
            return fail(Errc::bad_input,
                        fmt::format("Sample {} is no finite number.", i + 1),
                        source + ":ordinate_values",
                        "export the run again");
        out.push_back(sample);
    }
    return out;
}

Result<> read_times(std::string_view bytes,
                    NcHeader const& header,
                    double unit_s,
                    std::vector<float> signal,
                    std::string const& source,
                    Trace& trace) {
    bool uniform = true;
    for (auto const& a : header.variable("ordinate_values")->attributes)
        if (a.name == "uniform_sampling_flag")
            uniform = a.text.empty() || (a.text[0] != 'N' && a.text[0] != 'n');
    if (!uniform) {
        auto const* times = header.variable("raw_data_retention");
        if (times == nullptr || times->count != signal.size())
            return fail(
                Errc::bad_input,
                "The samples are not uniform and the file does not say when they were taken.",
                source + ":raw_data_retention",
                "export the run with its times");
        SampledRows rows;
        GW_TRY(rows.time_s, nc_values(bytes, *times, source));
        for (std::size_t i = 0; i < rows.time_s.size(); ++i) {
            rows.time_s[i] *= unit_s;
            if (!std::isfinite(rows.time_s[i]) || (i > 0 && !(rows.time_s[i] > rows.time_s[i - 1])))
                return fail(
                    Errc::bad_input,
                    fmt::format("The time of sample {} does not come after the one before.", i + 1),
                    source + ":raw_data_retention",
                    "export the run again");
        }
        rows.signals.push_back(std::move(signal));
        rows.time_step_printed = 2e-7 * rows.time_s.back();
        return put_on_grid(rows, trace);
    }
    GW_TRY(auto const interval, scalar(bytes, header, "actual_sampling_interval", source));
    GW_TRY(auto const delay, scalar(bytes, header, "actual_delay_time", source));
    if (!interval || !std::isfinite(*interval) || !(*interval * unit_s >= 1e-6) ||
        *interval * unit_s > 3600)
        return fail(Errc::bad_input,
                    "The file states no sampling interval that a detector could have.",
                    source + ":actual_sampling_interval",
                    "export the run with its interval");
    if (delay && (!std::isfinite(*delay) || std::abs(*delay) > 1e7))
        return fail(Errc::bad_input,
                    "The delay time is no time.",
                    source + ":actual_delay_time",
                    "export the run again");
    trace.interval_s = meant_interval(*interval * unit_s);
    trace.start_s = delay ? meant_interval(*delay * unit_s) : 0;
    GW_TRY(auto const length, scalar(bytes, header, "actual_run_time_length", source));
    double const covered = static_cast<double>(signal.size()) * trace.interval_s;
    if (length && std::abs(*length * unit_s - covered) > 2 * trace.interval_s &&
        std::abs(*length * unit_s - covered - trace.start_s) > 2 * trace.interval_s)
        trace.warnings.push_back(
            fmt::format("{}: the stated run time of {:.6g} s is not that of {} samples ({:.6g} s); "
                        "the samples count.",
                        source,
                        *length * unit_s,
                        signal.size(),
                        covered));
    trace.signals.push_back(std::move(signal));
    return {};
}

// Big-endian bytes of a classic netCDF file.
class Writer {
  public:
    std::string bytes;

    void word(std::uint32_t value) {
        for (int shift = 24; shift >= 0; shift -= 8)
            bytes += static_cast<char>(value >> static_cast<unsigned>(shift) & 0xFFU);
    }
    void real(float value) { word(std::bit_cast<std::uint32_t>(value)); }
    void text(std::string_view value) {  // length, bytes, padding
        word(static_cast<std::uint32_t>(value.size()));
        bytes += value;
        bytes.append((4 - value.size() % 4) % 4, '\0');
    }
    void attribute(std::string_view name, std::string_view value) {
        text(name);
        word(2);
        text(value.empty() ? std::string_view(" ") : value);
    }
};

}  // namespace

bool looks_like_netcdf(std::string_view bytes) {
    return bytes.substr(0, 3) == "CDF" || bytes.substr(0, 4) == "\x89HDF";
}

Result<Trace> read_netcdf(std::string_view bytes, std::string const& source) {
    if (bytes.substr(0, 4) == "\x89HDF")
        return fail(Errc::bad_input,
                    "This is a netCDF-4 file (HDF5), not the classic form that the interchange "
                    "layout uses.",
                    source,
                    "export it as classic netCDF, or as text");
    GW_TRY(auto const header, read_nc_header(bytes, source));
    Trace trace;
    trace.source = source;
    trace.hash = sha256(bytes);
    GW_TRY(double const unit_s, time_unit(header, source, trace));
    GW_TRY(auto signal, ordinates(bytes, header, source));
    GW_CHECK(read_times(bytes, header, unit_s, std::move(signal), source, trace));
    if (trace.samples() < fewest_samples)
        return fail(Errc::bad_input,
                    "The times leave fewer than 16 samples on an even grid.",
                    source,
                    "export the whole run");
    for (auto const& a : header.attributes)
        if (plain(a.name) && a.name.find(':') == std::string::npos && plain(a.text))
            trace.header[lower(a.name)] = a.text;
    if (auto const* unit = header.attribute("detector_unit"); unit != nullptr && plain(unit->text))
        trace.unit = unit->text;
    if (auto const* when = header.attribute("injection_date_time_stamp"))
        trace.start = stamp(when->text);
    return trace;
}

Result<std::string> netcdf_bytes(Trace const& trace, int detector) {
    if (detector < 1 || static_cast<std::size_t>(detector) > trace.signals.size())
        return fail(Errc::bad_input,
                    fmt::format("The trace has no detector {}.", detector),
                    "--detector",
                    fmt::format("choose 1 to {}", trace.signals.size()));
    auto const& signal = trace.signals[static_cast<std::size_t>(detector) - 1];
    if (signal.size() > 500'000'000)
        return fail(Errc::out_of_range,
                    "The trace is too long for a classic netCDF file.",
                    trace.source,
                    "cut it");
    auto const [low, high] = std::minmax_element(signal.begin(), signal.end());

    std::vector<std::pair<std::string, std::string>> attributes{{"dataset_completeness", "C1"},
                                                                {"aia_template_revision", "1.0"},
                                                                {"netcdf_revision", "classic"},
                                                                {"languages", "English"},
                                                                {"retention_unit", "seconds"},
                                                                {"detector_unit", trace.unit}};
    if (trace.start) {
        auto const iso = to_text(*trace.start);  // 2026-03-02T10:15:00+01:00, or Z
        std::string packed;
        for (char const c : iso.substr(0, 19))
            if (c >= '0' && c <= '9') packed += c;
        int const offset = trace.start->offset_minutes;
        packed += fmt::format(
            "{}{:02}{:02}", offset < 0 ? '-' : '+', std::abs(offset) / 60, std::abs(offset) % 60);
        attributes.emplace_back("injection_date_time_stamp", packed);
    }
    attributes.emplace_back("detector_name", fmt::format("detector {}", detector));
    for (auto const& [key, value] : trace.header) {
        bool const known = std::any_of(attributes.begin(),
                                       attributes.end(),
                                       [&k = key](auto const& a) { return a.first == k; });
        if (!known && key != "start" && key != "unit" && key != "interval_s" &&
            key != "time_unit" && key.size() < 200)
            attributes.emplace_back(key, value);
    }

    struct Scalar {
        char const* name;
        double value;
    };
    std::vector<Scalar> const scalars{
        {"actual_run_time_length", static_cast<double>(signal.size()) * trace.interval_s},
        {"actual_sampling_interval", trace.interval_s},
        {"actual_delay_time", trace.start_s},
        {"detector_maximum_value", *high},
        {"detector_minimum_value", *low}};
    // The header's length does not depend on the offsets in it: it is written twice.
    std::uint32_t begin = 0;
    Writer out;
    for (int round = 0; round < 2; ++round) {
        out.bytes = std::string("CDF\x01", 4);
        out.word(0);  // no records
        out.word(0x0A), out.word(1);
        out.text("point_number"), out.word(static_cast<std::uint32_t>(signal.size()));
        out.word(0x0C), out.word(static_cast<std::uint32_t>(attributes.size()));
        for (auto const& [name, value] : attributes) out.attribute(name, value);
        out.word(0x0B), out.word(static_cast<std::uint32_t>(scalars.size() + 1));
        std::uint32_t at = begin;
        for (auto const& s : scalars) {
            out.text(s.name), out.word(0);
            out.word(0), out.word(0);
            out.word(5), out.word(4), out.word(at);
            at += 4;
        }
        out.text("ordinate_values"), out.word(1), out.word(0);
        out.word(0x0C), out.word(1), out.attribute("uniform_sampling_flag", "Y");
        out.word(5), out.word(static_cast<std::uint32_t>(4 * signal.size())), out.word(at);
        begin = static_cast<std::uint32_t>(out.bytes.size());
    }
    for (auto const& s : scalars) out.real(static_cast<float>(s.value));
    for (float const sample : signal) out.real(sample);
    return std::move(out.bytes);
}

}  // namespace gw::trace
