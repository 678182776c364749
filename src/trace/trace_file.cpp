#include "trace/trace_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>

#include "base/decoded_text.hpp"
#include "base/hash.hpp"
#include "base/text.hpp"
#include "trace/netcdf.hpp"
#include "trace/trace_grid.hpp"
#include "trace/trace_layout.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t fewest_samples = 16;
constexpr char no_number =
    '\x01';  // stands for a point in a file with decimal commas; see swap_decimals

/// In a block with decimal commas: comma to point, so that rows are read without a copy; point to a
/// sign that no number has, so that "1.234,5" stays refused.
void swap_decimals(std::string& text, std::size_t from) {
    for (std::size_t i = from; i < text.size(); ++i) {
        if (text[i] == '.')
            text[i] = no_number;
        else if (text[i] == ',')
            text[i] = '.';
    }
}

std::string as_written(std::string text, bool swapped) {
    if (swapped)
        for (char& c : text) c = c == '.' ? ',' : c == no_number ? '.' : c;
    return text;
}

struct Row {
    double time{};
    std::vector<float> signals;
};

bool read_value(char const*& p, char const* end, double& value) {
    auto const [after, problem] = std::from_chars(p, end, value);
    p = after;
    return problem == std::errc{} && std::isfinite(value);
}

bool read_value(char const*& p, char const* end, float& value) {
    auto const [after, problem] = std::from_chars(p, end, value);
    p = after;
    return problem == std::errc{} && std::isfinite(value);
}

/// A value that from_chars finds out of range of float: too small reads as zero, too large is
/// refused.
bool to_float(std::string_view cell, double value, float& out) {
    if (std::abs(value) > static_cast<double>(std::numeric_limits<float>::max())) {
        char const* p = cell.data();
        return read_value(
            p, p + cell.size(), out);  // the last half unit still rounds to the largest float
    }
    char const* p = cell.data();
    if (!read_value(p, p + cell.size(), out)) out = static_cast<float>(value);
    return true;
}

class RowReader {
  public:
    RowReader(std::string_view text, Layout const& layout, bool swapped, std::string const& source)
        : layout_(layout),
          source_(source),
          swapped_(swapped),
          at_(text.data() + layout.offset),
          end_(text.data() + text.size()),
          line_(layout.first_line) {
        row_.signals.resize(layout.signals());
        // Quoted decimal commas between commas need the careful path for every row.
        fast_ = !(layout.decimal_comma && !swapped);
    }

    /// False at the end of the text.
    Result<bool> next(Trace& trace) {
        for (;;) {
            if (at_ >= end_) return false;
            if (fast_ && fast_row()) {
                row_line_ = line_;
                to_next_line();
                return true;
            }
            char const* line_end = at_;
            while (line_end < end_ && *line_end != '\n' && *line_end != '\r') ++line_end;
            std::string_view const line(at_, static_cast<std::size_t>(line_end - at_));
            if (!trimmed(line).empty() && !is_comment(line)) {
                GW_CHECK(careful_row(line));
                row_line_ = line_;
                at_ = line_end;
                to_next_line();
                return true;
            }
            if (auto const entry = comment_entry(as_written(std::string(line), swapped_));
                is_comment(line) && entry)
                trace.header.insert(*entry);
            at_ = line_end;
            to_next_line();
        }
    }

    [[nodiscard]] Row const& row() const { return row_; }
    [[nodiscard]] std::size_t line() const { return row_line_; }

  private:
    void skip_blanks(char const*& p) const {
        while (p < end_ && (*p == ' ' || (*p == '\t' && layout_.delimiter != Delimiter::tab))) ++p;
    }

    [[nodiscard]] bool skip_delimiter(char const*& p) const {
        switch (layout_.delimiter) {
            case Delimiter::comma:
                return p < end_ && *p++ == ',';
            case Delimiter::semicolon:
                return p < end_ && *p++ == ';';
            case Delimiter::tab:
                return p < end_ && *p++ == '\t';
            case Delimiter::blanks: {
                char const* const from = p;
                skip_blanks(p);
                return p > from;
            }
            case Delimiter::wide_blanks:
            case Delimiter::none:
                break;
        }
        return false;
    }

    /// Reads a plain row straight from the text. False, with nothing moved, when anything is
    /// unusual.
    bool fast_row() {
        char const* p = at_;
        std::size_t signal = 0;
        for (std::size_t c = 0; c < layout_.roles.size(); ++c) {
            if (c > 0 && !skip_delimiter(p)) return false;
            skip_blanks(p);
            bool ok = false;
            double ignored{};
            switch (layout_.roles[c]) {
                case Role::time:
                    ok = read_value(p, end_, row_.time);
                    break;
                case Role::signal:
                    ok = read_value(p, end_, row_.signals[signal++]);
                    break;
                case Role::skipped:
                    ok = read_value(p, end_, ignored);
                    break;
            }
            if (!ok) return false;
            if (layout_.delimiter != Delimiter::blanks) skip_blanks(p);
        }
        if (layout_.trailing_delimiter && !skip_delimiter(p)) return false;
        skip_blanks(p);
        if (p < end_ && *p != '\n' && *p != '\r') return false;
        at_ = p;
        return true;
    }

    Result<> careful_row(std::string_view line) {
        auto parts = cells(line, layout_.delimiter);
        auto const columns = layout_.roles.size();
        if (layout_.trailing_delimiter && parts.size() == columns + 1 && parts.back().empty())
            parts.pop_back();
        std::size_t signal = 0;
        for (std::size_t c = 0; c < std::min(columns, parts.size()); ++c) {
            std::string cell = parts[c];
            if (layout_.decimal_comma && !swapped_) {
                if (cell.find('.') != std::string::npos) return not_a_number(cell, true);
                std::ranges::replace(cell, ',', '.');
            }
            auto const value = parse_number(cell);
            if (!value) return not_a_number(parts[c], parts.size() == columns);
            if (!cell.empty() && cell.front() == '+') cell.erase(0, 1);
            if (layout_.roles[c] == Role::time) row_.time = *value;
            if (layout_.roles[c] == Role::signal && !to_float(cell, *value, row_.signals[signal++]))
                return fail(Errc::bad_input,
                            fmt::format("{} is too large for a signal.", written(parts[c])),
                            here(),
                            "correct the value");
        }
        if (parts.size() != columns)
            return fail(Errc::bad_input,
                        fmt::format("The row has {} column{}; the rows before have {}.",
                                    parts.size(),
                                    parts.size() == 1 ? "" : "s",
                                    columns),
                        here(),
                        "mend the row, or export the whole file again if it was cut short");
        return {};
    }

    [[nodiscard]] std::string written(std::string const& cell) const {
        return in_quotes(as_written(cell, swapped_));
    }
    [[nodiscard]] std::string here() const { return at_line(source_, line_); }

    [[nodiscard]] tl::unexpected<Error> not_a_number(std::string const& cell,
                                                     bool whole_row) const {
        if (cell.empty())
            return fail(Errc::bad_input,
                        "A value is missing in this row.",
                        here(),
                        "give a number in every cell");
        auto const as_read = as_written(cell, swapped_);
        bool const both =
            as_read.find('.') != std::string::npos && as_read.find(',') != std::string::npos;
        return fail(Errc::bad_input,
                    fmt::format("{} is not a finite number.", in_quotes(as_read)),
                    here(),
                    both ? "export without a thousands separator"
                    : whole_row
                        ? "correct the value, or leave the whole row out: a gap is allowed"
                        : "only blank lines and lines that begin with # may follow the rows");
    }

    void to_next_line() {
        ++line_;
        if (at_ >= end_) return;
        if (*at_ == '\r' && at_ + 1 < end_ && at_[1] == '\n') ++at_;
        ++at_;
    }

    Layout const& layout_;
    std::string const& source_;
    bool swapped_, fast_ = true;
    char const *at_, *end_;
    std::size_t line_, row_line_ = 0;
    Row row_;
};

/// Finest decimal among the last rows: a fixed number of digits loses decimals as time grows.
double printed_step_at_end(std::string_view text, Layout const& layout, double otherwise) {
    auto const time = layout.time_column();
    constexpr std::size_t enough = 16'000;  // bytes: some hundred rows
    auto const begin = std::max(layout.offset, text.size() > enough ? text.size() - enough : 0);
    LineReader reader(text.substr(begin));
    std::optional<int> decimals;
    Line line;
    if (begin > layout.offset && !reader.next(line)) return otherwise;  // the first one is cut
    while (reader.next(line)) {
        if (trimmed(line.text).empty() || is_comment(line.text)) continue;
        auto const parts = cells(line.text, layout.delimiter);
        if (*time < parts.size())
            decimals = std::max(decimals.value_or(-10), printed_decimals(parts[*time]));
    }
    if (!decimals) return otherwise;
    return std::max(otherwise, std::pow(10.0, -*decimals) * layout.seconds_per_time);
}

Result<> take_header(Trace& trace, Layout const& layout) {
    trace.header = layout.header;
    if (auto const unit = layout.header.find("unit");
        unit != layout.header.end() && !unit->second.empty())
        trace.unit = unit->second;
    else if (!layout.unit.empty())
        trace.unit = layout.unit;
    if (auto const start = layout.header_line.find("start"); start != layout.header_line.end()) {
        GW_TRY(trace.start,
               parse_instant(layout.header.at("start"), at_line(trace.source, start->second)));
    }
    return {};
}

Result<double> interval_without_time(Layout const& layout,
                                     TraceReadOptions const& options,
                                     std::string const& source) {
    if (options.rate_hz) return 1.0 / *options.rate_hz;
    if (layout.interval_s) return *layout.interval_s;
    return fail(Errc::bad_input,
                "The file has no time column and does not state its sampling rate.",
                source,
                "give the rate with --rate HZ, or add a line \"# rate_hz: 50\"");
}

}  // namespace

Result<Trace> read_trace(std::string_view bytes,
                         std::string const& source,
                         TraceReadOptions const& options) {
    if (options.rate_hz &&
        !(std::isfinite(*options.rate_hz) && *options.rate_hz > 0 && *options.rate_hz <= 1e6))
        return fail(Errc::bad_input,
                    "The sampling rate must be above 0 and at most 1000000 Hz.",
                    "--rate",
                    "give samples per second");
    if (looks_like_netcdf(bytes)) return read_netcdf(bytes, source);
    GW_TRY(auto decoded, decoded_text(bytes, source));
    constexpr std::size_t longest_line = 65'536;  // bytes; a row of 40 columns has some hundred
    if (has_line_over(decoded.view(), longest_line))
        return fail(Errc::bad_input,
                    "A line of the file is far too long for a row of samples.",
                    source,
                    "export the run with one row for each time");
    GW_TRY(auto const layout, trace_layout(decoded.view(), source));
    Trace trace;
    trace.source = source;
    trace.hash = sha256(bytes);
    GW_CHECK(take_header(trace, layout));
    bool const swapped = layout.decimal_comma && layout.delimiter != Delimiter::comma;
    if (swapped) swap_decimals(decoded.own(), layout.offset);
    auto const text = decoded.view();

    SampledRows rows;
    rows.signals.resize(layout.signals());
    auto const time = layout.time_column();
    double before = 0;
    RowReader reader(text, layout, swapped, source);
    for (;;) {
        GW_TRY(bool const more, reader.next(trace));
        if (!more) break;
        auto const& row = reader.row();
        if (time) {
            if (!rows.time_s.empty() && !(row.time > before))
                return fail(
                    Errc::bad_input,
                    row.time == before
                        ? fmt::format("The time {} stands twice.", row.time)
                        : fmt::format("The time goes back from {} to {}.", before, row.time),
                    at_line(source, reader.line()),
                    "sort the rows, export more decimals of the time, or leave the time column out "
                    "and give --rate HZ");
            before = row.time;
            rows.time_s.push_back(row.time * layout.seconds_per_time);
        }
        for (std::size_t s = 0; s < row.signals.size(); ++s)
            rows.signals[s].push_back(row.signals[s]);
    }
    auto const count = rows.signals.front().size();
    if (count < fewest_samples)
        return fail(Errc::bad_input,
                    fmt::format("The trace has {} sample{}; at least {} are needed.",
                                count,
                                count == 1 ? "" : "s",
                                fewest_samples),
                    source,
                    "export the whole run");
    if (!time) {
        GW_TRY(trace.interval_s, interval_without_time(layout, options, source));
        if (trace.interval_s < 1e-6 || trace.interval_s > 3600)
            return fail(Errc::bad_input,
                        fmt::format("The stated interval of {} s is no sampling interval.",
                                    trace.interval_s),
                        source,
                        "correct the rate");
        trace.signals = std::move(rows.signals);
        return trace;
    }
    rows.interval_stated = layout.interval_s;
    rows.time_step_printed = printed_step_at_end(text, layout, layout.time_step_printed);
    GW_CHECK(put_on_grid(rows, trace));
    if (trace.samples() < fewest_samples)
        return fail(Errc::bad_input,
                    "The times leave fewer than 16 samples on an even grid.",
                    source,
                    "export the whole run");
    if (options.rate_hz && std::abs(*options.rate_hz * trace.interval_s - 1) > 0.01)
        trace.warnings.push_back(fmt::format(
            "{}: the time column says {:.4g} Hz; the rate of {:.4g} Hz given is not used.",
            source,
            1 / trace.interval_s,
            *options.rate_hz));
    return trace;
}

std::string trace_csv(Trace const& trace) {
    // Rows of a gap are left out when the reader will fill in the same values; so the gap stays
    // known.
    std::vector<bool> left_out(trace.samples(), false);
    std::size_t kept = trace.samples();
    for (auto const& gap : trace.gaps) {
        if (gap.first == 0 || gap.first > gap.last || gap.last + 1 >= trace.samples()) continue;
        auto const width = static_cast<double>(gap.last - gap.first + 2);
        bool straight = true;
        for (auto const& signal : trace.signals)
            for (std::size_t k = gap.first; k <= gap.last; ++k)
                straight = straight &&
                           signal[k] == between(signal[gap.first - 1],
                                                signal[gap.last + 1],
                                                static_cast<double>(k - gap.first + 1) / width);
        if (!straight) continue;
        for (std::size_t k = gap.first; k <= gap.last; ++k) left_out[k] = true;
        kept -= gap.last - gap.first + 1;
    }
    if (kept < fewest_samples || GridOptions{}.most_growth * kept < trace.samples())
        left_out.assign(trace.samples(), false);

    fmt::memory_buffer out;
    auto const to = fmt::appender(out);
    auto header = trace.header;
    header.erase("time_unit");
    header.erase("interval");
    header.erase("rate_hz");
    header.erase("sample_rate_hz");
    header.erase("sampling_rate_hz");
    if (trace.start)
        header["start"] = to_text(*trace.start);
    else
        header.erase("start");
    header["unit"] = trace.unit;
    header["interval_s"] = shortest(trace.interval_s);
    for (auto const& [key, value] : header) fmt::format_to(to, "# {}: {}\n", key, value);
    fmt::format_to(to, "time_s,signal");
    for (std::size_t s = 1; s < trace.signals.size(); ++s) fmt::format_to(to, ",signal_{}", s + 1);
    fmt::format_to(to, "\n");
    for (std::size_t i = 0; i < trace.samples(); ++i) {
        if (left_out[i]) continue;
        // 20 * 0.02 is 0.4 to a reader, whatever the last bit says; a nanosecond is far below any
        // interval.
        double const t = trace.time(i);
        double const rounded = std::round(t * 1e9) / 1e9;
        fmt::format_to(to, "{}", std::abs(t) < 1e6 ? rounded : t);
        for (auto const& signal : trace.signals) fmt::format_to(to, ",{}", signal[i]);
        fmt::format_to(to, "\n");
    }
    return {out.data(), out.size()};
}

}  // namespace gw::trace
