#include "desk/file_kind.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/load.hpp"
#include "trace/series_table.hpp"
#include "trace/table_text.hpp"

namespace gw::desk {

namespace {

constexpr std::size_t sample_rows = 24;
constexpr std::size_t most_columns = 40;  // a wider table is no run of a chromatograph

struct NamedDelimiter {
    char const* name;
    trace::Delimiter delimiter;
};
constexpr std::array delimiters = {NamedDelimiter{"tab", trace::Delimiter::tab},
                                   NamedDelimiter{"semicolon", trace::Delimiter::semicolon},
                                   NamedDelimiter{"comma", trace::Delimiter::comma},
                                   NamedDelimiter{"blanks", trace::Delimiter::blanks}};

Json error_json(Error const& error) {
    return Json{{"what", error.what}, {"where", error.where}, {"mend", error.mend}};
}

Json kind(char const* name, std::string says) {
    return Json{
        {"kind", name}, {"says", std::move(says)}, {"problem", nullptr}, {"columns", nullptr}};
}

bool is_picture(std::string_view bytes) {
    return bytes.substr(0, 8) == "\x89PNG\r\n\x1a\n" || bytes.substr(0, 3) == "\xff\xd8\xff" ||
           (bytes.substr(0, 4) == "RIFF" && bytes.substr(8, 4) == "WEBP");
}

std::optional<Json> json_kind(std::string_view bytes, std::string const& name) {
    if (auto const cylinder = cylinder_of(bytes, name))
        return kind("cylinder", fmt::format("The certificate of cylinder {}.", cylinder->serial));
    if (auto const method = method_of(bytes, name); method && !method->peaks.empty())
        return kind("method", fmt::format("A method with {} peaks.", method->peaks.size()));
    if (calibration_of(bytes, name))
        return kind("calibration", "A calibration: factors by component.");
    return std::nullopt;
}

// How many of the sampled lines fall into the same number of cells, and how many cells that is.
std::pair<std::size_t, std::size_t> agreement(std::vector<trace::Line> const& lines,
                                              trace::Delimiter delimiter) {
    std::map<std::size_t, std::size_t> counts;
    for (auto const& line : lines) ++counts[trace::cells(line.text, delimiter).size()];
    std::pair<std::size_t, std::size_t> best{0, 0};
    for (auto const& [width, n] : counts)
        if (width > 1 && n > best.first) best = {n, width};
    return best;
}

Json table_sample(std::string_view text) {
    std::vector<trace::Line> lines;
    trace::LineReader reader(text);
    for (trace::Line line; lines.size() < sample_rows && reader.next(line);)
        if (!trimmed(line.text).empty()) lines.push_back(line);
    NamedDelimiter chosen = delimiters[0];
    std::pair<std::size_t, std::size_t> best{0, 0};
    for (auto const& each : delimiters)
        if (auto const found = agreement(lines, each.delimiter); found.first > best.first) {
            best = found;
            chosen = each;
        }
    if (best.first < 2 || best.second > most_columns) return nullptr;
    bool const comma =
        chosen.delimiter != trace::Delimiter::comma &&
        std::any_of(lines.begin(), lines.end(), [&](auto const& line) {
            auto const row = trace::cells(line.text, chosen.delimiter);
            return std::any_of(row.begin(), row.end(), [](auto const& cell) {
                return trace::cell_number(cell, true) && cell.find(',') != std::string::npos;
            });
        });
    Json rows = Json::array();
    for (auto const& line : lines)
        rows.push_back(
            Json{{"line", line.number}, {"cells", trace::cells(line.text, chosen.delimiter)}});
    return Json{{"delimiter", chosen.name},
                {"decimal_comma", comma},
                {"width", best.second},
                {"rows", std::move(rows)}};
}

}  // namespace

Json file_kind(std::string_view bytes, std::string const& name) {
    if (bytes.substr(0, 4) == std::string_view("PK\x03\x04", 4))
        return kind("bundle", "A bundle: a visit with its evidence.");
    if (is_picture(bytes)) return kind("picture", "A picture.");
    if (looks_like_json(bytes))
        if (auto known = json_kind(bytes, name)) return *std::move(known);
    auto const run = run_of(bytes, name);
    if (run) {
        if (auto const* trace = std::get_if<trace::Trace>(&*run))
            return kind(
                "trace",
                fmt::format("A run: {} samples over {} s, {} detector{}.",
                            trace->samples(),
                            fixed(static_cast<double>(trace->samples()) * trace->interval_s, 1),
                            trace->signals.size(),
                            trace->signals.size() == 1 ? "" : "s"));
        auto const& report = std::get<trace::ReportTable>(*run);
        return kind("report",
                    fmt::format("A printed report of {} components.", report.rows.size()));
    }
    if (auto const series = series_of(bytes, name);
        series && std::any_of(series->columns.begin(), series->columns.end(), [](auto const& c) {
            return c.name == "oven_c" || c.name.rfind("retention:", 0) == 0 ||
                   c.name.rfind("factor:", 0) == 0;
        }))
        return kind("series", fmt::format("A series of {} readings.", series->t.size()));
    auto out = kind("unknown", "No reader of this program takes this file.");
    out["problem"] = error_json(run.error());
    // What its columns are is seen in the first rows; a cut last line is none of them.
    constexpr std::size_t enough = 1UL << 20;  // bytes
    auto head = bytes.substr(0, enough);
    if (head.size() < bytes.size()) head = head.substr(0, head.find_last_of('\n'));
    if (auto const text = decode_text(head, name)) {
        out["columns"] = table_sample(*text);
        if (!out["columns"].is_null()) {
            out["kind"] = "table";
            out["says"] = "A table that does not say by itself what its columns are.";
        }
    }
    return out;
}

Result<std::string> picked_trace(std::string_view bytes,
                                 std::string const& name,
                                 PickedColumns const& picked) {
    auto const* named = std::find_if(delimiters.begin(), delimiters.end(), [&](auto const& each) {
        return picked.delimiter == each.name;
    });
    if (named == delimiters.end())
        return fail(Errc::bad_input,
                    "No delimiter of this name is known.",
                    "delimiter",
                    "give comma, semicolon, tab or blanks");
    auto const seconds = trace::seconds_per(picked.time_unit);
    if (!seconds)
        return fail(Errc::bad_input,
                    fmt::format("{} is no unit of time.", trace::in_quotes(picked.time_unit)),
                    "time_unit",
                    "give s, min, ms or h");
    if (picked.signals.empty())
        return fail(Errc::bad_input, "No column was chosen as signal.", "signals", "choose one");
    if (std::find(picked.signals.begin(), picked.signals.end(), picked.time) !=
        picked.signals.end())
        return fail(Errc::bad_input,
                    "One column cannot be both time and signal.",
                    "signals",
                    "choose another one");
    GW_TRY(auto const text, decode_text(bytes, name));
    std::string out;
    if (!picked.unit.empty()) out += "# unit: " + picked.unit + "\n";
    out += "time_s";
    for (std::size_t i = 0; i < picked.signals.size(); ++i)
        out += i == 0 ? ",signal" : fmt::format(",signal_{}", i + 1);
    out += "\n";
    auto const number = [&](std::vector<std::string> const& row,
                            std::size_t column,
                            std::size_t line) -> Result<double> {
        if (column >= row.size())
            return fail(Errc::bad_input,
                        fmt::format("This line has no column {}.", column + 1),
                        trace::at_line(name, line),
                        "begin at a later line, or choose other columns");
        auto const value = trace::cell_number(row[column], picked.decimal_comma);
        if (!value)
            return fail(Errc::bad_input,
                        fmt::format("{} is no number.", trace::in_quotes(row[column])),
                        trace::at_line(name, line),
                        "begin at a later line, or choose the other decimal mark");
        return *value;
    };
    trace::LineReader reader(text);
    for (trace::Line line; reader.next(line);) {
        if (line.number < picked.first_row || trimmed(line.text).empty()) continue;
        auto const row = trace::cells(line.text, named->delimiter);
        GW_TRY(auto const time, number(row, picked.time, line.number));
        out += shortest(time * *seconds);
        for (auto const column : picked.signals) {
            GW_TRY(auto const signal, number(row, column, line.number));
            out += "," + shortest(signal);
        }
        out += "\n";
    }
    GW_CHECK(run_of(out, name).map([](auto const&) {}));
    return out;
}

}  // namespace gw::desk
