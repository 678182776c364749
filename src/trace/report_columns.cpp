#include "trace/report_columns.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "base/text.hpp"
#include "trace/table_text.hpp"

namespace gw::trace {

namespace {

/// Letters, digits and % only, in lower case: "Ret. Time" is "rettime".
std::string squeezed(std::string_view text) {
    std::string out;
    for (char const c : lowered(text))
        if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '%' ||
            (static_cast<unsigned char>(c) & 0x80U) != 0)
            out += c;
    return out;
}

struct Named {
    std::string_view word;
    ReportColumn column;
};

constexpr auto named = [] {
    using enum ReportColumn;
    return std::array{Named{"component", component},
                      Named{"components", component},
                      Named{"name", component},
                      Named{"componentname", component},
                      Named{"compound", component},
                      Named{"compoundname", component},
                      Named{"peakname", component},
                      Named{"gas", component},
                      Named{"substance", component},
                      Named{"komponente", component},
                      Named{"retention", retention},
                      Named{"rt", retention},
                      Named{"time", retention},
                      Named{"rettime", retention},
                      Named{"retentiontime", retention},
                      Named{"tr", retention},
                      Named{"retentionszeit", retention},
                      Named{"zeit", retention},
                      Named{"area", area},
                      Named{"peakarea", area},
                      Named{"areacounts", area},
                      Named{"fl\xC3\xA4"
                            "che",
                            area},
                      Named{"height", height},
                      Named{"peakheight", height},
                      Named{"molepercent", mole_percent},
                      Named{"molpercent", mole_percent},
                      Named{"mole%", mole_percent},
                      Named{"mol%", mole_percent},
                      Named{"molpct", mole_percent},
                      Named{"molepct", mole_percent},
                      Named{"%mol", mole_percent},
                      Named{"%mole", mole_percent},
                      Named{"factor", factor},
                      Named{"rf", factor},
                      Named{"responsefactor", factor},
                      Named{"respfactor", factor},
                      Named{"rrf", factor},
                      Named{"detector", detector},
                      Named{"det", detector},
                      Named{"channel", detector}};
}();

bool is_mole_percent_unit(std::string_view unit) {
    auto const word = squeezed(unit);
    return word == "mol%" || word == "mole%" || word == "molpercent" || word == "%mol" ||
           word == "molepercent";
}

bool is_mole_fraction_unit(std::string_view unit) {
    auto const word = lowered(trimmed(unit));
    return word == "mol/mol" || word == "mole/mole";
}

std::string as_key(std::string_view key) {
    std::string out = lowered(trimmed(key));
    for (char& c : out)
        if (c == ' ' || c == '-') c = '_';
    if (out == "normalized") out = "normalised";
    if (out == "unnormalized_total") out = "unnormalised_total";
    return out;
}

/// The number at the start of "38.21 MJ/m3"; a decimal comma is taken when there is no point.
std::optional<double> leading_number(std::string_view text) {
    text = trimmed(text);
    auto const number = text.substr(0, text.find_first_not_of("+-.,0123456789eE"));
    if (auto const value = parse_number(number)) return value;
    return cell_number(number, true);
}

std::optional<bool> yes_or_no(std::string_view text) {
    auto const word = lowered(trimmed(text));
    if (word == "yes" || word == "true" || word == "1") return true;
    if (word == "no" || word == "false" || word == "0") return false;
    return std::nullopt;
}

}  // namespace

ColumnMeaning column_meaning(std::string_view cell) {
    ColumnMeaning meaning;
    auto const find = [](std::string const& word) {
        auto const found = std::ranges::find(named, std::string_view(word), &Named::word);
        return found == named.end() ? ReportColumn::unused : found->column;
    };
    auto const parts = title(cell);
    auto const whole = squeezed(cell), name = squeezed(parts.name);
    meaning.column = find(whole);
    if (whole == "molefraction" || whole == "molfraction" || is_mole_fraction_unit(cell)) {
        meaning.column = ReportColumn::mole_percent;
        meaning.scale = 100;
    }
    if (meaning.column != ReportColumn::unused) return meaning;
    bool const amount = name == "amount" || name == "concentration" || name == "conc" ||
                        name == "x" || name == "mole" || name == "mol" || name == "result" ||
                        name == "molefraction" || name == "molfraction";
    if (amount && (is_mole_percent_unit(parts.unit) ||
                   ((name == "mole" || name == "mol") && trimmed(parts.unit) == "%"))) {
        meaning.column = ReportColumn::mole_percent;
    } else if ((amount && is_mole_fraction_unit(parts.unit)) || name == "molefraction" ||
               name == "molfraction") {
        meaning.column = ReportColumn::mole_percent;
        meaning.scale = 100;
    } else if (trimmed(parts.unit) != "%") {  // "Area (%)" is no area
        meaning.column = find(name);
    }
    if (meaning.column == ReportColumn::retention)
        meaning.seconds_per_time = seconds_per(parts.unit);
    return meaning;
}

bool names_a_total(std::string_view cell) {
    static constexpr std::array<std::string_view, 9> words = {"total",
                                                              "totals",
                                                              "sum",
                                                              "summe",
                                                              "gesamt",
                                                              "somme",
                                                              "totaal",
                                                              "unnormalisedtotal",
                                                              "unnormalizedtotal"};
    return std::ranges::find(words, squeezed(cell)) != words.end();
}

bool means_absent(std::string_view cell) {
    auto const word = lowered(trimmed(cell));
    return word.empty() || word == "-" || word == "--" || word == "n/a" || word == "na" ||
           word == "\xE2\x80\x93";
}

bool ReportBuilder::is_known_key(std::string_view key) {
    static constexpr std::array<std::string_view, 6> keys = {
        "factor_kind", "time_unit", "normalised", "unnormalised_total", "printed_cv", "detector"};
    return std::ranges::find(keys, as_key(key)) != keys.end();
}

Result<> ReportBuilder::entry(std::string const& key,
                              std::string const& text,
                              std::string const& where) {
    table_.header.emplace_back(lowered(trimmed(key)), text);
    auto const known = as_key(key);
    auto const wrong = [&](std::string_view mend) {
        return fail(Errc::bad_input,
                    fmt::format("{} is no value of {}.", in_quotes(text), known),
                    where,
                    std::string(mend));
    };
    if (known == "factor_kind") {
        auto const kind = as_key(text);
        if (kind == "area_per_amount")
            table_.factor_kind = FactorKind::area_per_amount;
        else if (kind == "amount_per_area")
            table_.factor_kind = FactorKind::amount_per_area;
        else if (kind == "relative")
            table_.factor_kind = FactorKind::relative;
        else
            return wrong("write area_per_amount, amount_per_area or relative");
    } else if (known == "time_unit") {
        time_unit_ = seconds_per(text);
        if (!time_unit_) return wrong("write s or min");
    } else if (known == "normalised") {
        table_.normalised = yes_or_no(text);
        if (!table_.normalised) return wrong("write yes or no");
    } else if (known == "unnormalised_total" || known == "printed_cv") {
        auto const number = leading_number(text);
        if (!number || *number <= 0) return wrong("write a positive number");
        (known == "printed_cv" ? table_.printed_cv : table_.unnormalised_total) = number;
    } else if (known == "detector") {
        auto const number = parse_number(text);
        if (number && *number >= 1 && *number <= 64 && *number == std::floor(*number))
            detector_ = static_cast<int>(*number);
        else
            table_.detector_text = text;
    }
    return {};
}

Result<> ReportBuilder::start_row(std::string_view component, std::string const& where) {
    GW_TRY(auto const known, gas::require_component(trimmed(component), where));
    if (std::ranges::find(table_.rows, known, &ReportRow::component) != table_.rows.end())
        return fail(Errc::bad_input,
                    fmt::format("The component {} stands twice in the table.", gas::name(known)),
                    where,
                    "keep one row for each component");
    ReportRow row{};
    row.component = known;
    row.detector = detector_;
    table_.rows.push_back(row);
    retention_has_unit_.push_back(false);
    return {};
}

Result<> ReportBuilder::value(ColumnMeaning const& meaning,
                              double number,
                              std::string const& where) {
    auto& row = table_.rows.back();
    auto const name = gas::name(row.component);
    auto const refuse = [&](std::string_view what, std::string_view mend) {
        return fail(Errc::bad_input,
                    fmt::format("{} of {} {}.", what, name, number),
                    where,
                    std::string(mend));
    };
    switch (meaning.column) {
        case ReportColumn::retention:
            if (number < 0) return refuse("There is no retention time", "correct the time");
            row.retention_s = number * meaning.seconds_per_time.value_or(1);
            retention_has_unit_.back() = meaning.seconds_per_time.has_value();
            break;
        case ReportColumn::area:
            row.area = number;
            break;
        case ReportColumn::height:
            row.height = number;
            break;
        case ReportColumn::mole_percent: {
            constexpr double slightly_negative = -0.05,
                             largest = 110;  // mol%; common practice, no source
            double const mole_percent = number * meaning.scale;
            if (mole_percent < slightly_negative || mole_percent > largest)
                return refuse("There is no amount", "give the amount in mol%");
            if (mole_percent < 0)
                table_.warnings.push_back(fmt::format(
                    "{}: the amount of {} is negative ({} mol%).", where, name, mole_percent));
            row.mole_percent = mole_percent;
            break;
        }
        case ReportColumn::factor:
            if (number < 0) return refuse("There is no response factor", "correct the factor");
            if (number == 0)
                table_.warnings.push_back(
                    fmt::format("{}: the response factor of {} is zero and counts as not stated.",
                                where,
                                name));
            else
                row.factor = number;
            break;
        case ReportColumn::detector:
            if (number < 1 || number > 64 || number != std::floor(number))
                return refuse("There is no detector", "count detectors from 1");
            row.detector = static_cast<int>(number);
            break;
        case ReportColumn::component:
        case ReportColumn::unused:
            break;
    }
    return {};
}

Result<> ReportBuilder::finish(std::optional<double> printed_total) {
    auto& rows = table_.rows;
    if (rows.empty())
        return fail(Errc::bad_input,
                    "The table has no rows.",
                    table_.source,
                    "give one row for each component");
    auto const says_nothing = [](ReportRow const& row) {
        return !row.retention_s && !row.area && !row.height && !row.mole_percent && !row.factor;
    };
    if (std::ranges::all_of(rows, says_nothing))
        return fail(Errc::bad_input,
                    "The table names components but gives no figures for them.",
                    table_.source,
                    "add mole_percent, area, factor or retention");
    for (std::size_t i = 0; i < rows.size(); ++i)
        if (rows[i].retention_s && !retention_has_unit_[i] && time_unit_)
            *rows[i].retention_s *= *time_unit_;

    auto const stated =
        std::ranges::count_if(rows, [](auto const& row) { return row.mole_percent.has_value(); });
    auto const sum = table_.mole_percent_sum();
    constexpr double low = 90, high = 110;  // mol%: outside, it is no analysis of a whole gas
    if (stated >= 2 && (*sum < low || *sum > high))
        return fail(
            Errc::bad_input,
            fmt::format("The amounts add up to {:.3f} mol%, outside {} to {}.", *sum, low, high),
            table_.source,
            "check for a missing row, a wrong decimal sign or another unit");
    if (auto const total = table_.unnormalised_total; total && (*total < low || *total > high))
        return fail(
            Errc::bad_input,
            fmt::format(
                "The unnormalised total of {} mol% is outside {} to {}.", *total, low, high),
            table_.source,
            "correct the header line");
    if (printed_total && sum) {
        constexpr double rounding = 0.05;  // mol%: what a dozen rows printed to 0.01 may leave
        if (std::abs(*printed_total - *sum) > rounding)
            table_.warnings.push_back(
                fmt::format("{}: the rows add up to {:.3f} mol%, but the total printed is {}; "
                            "a row may be missing.",
                            table_.source,
                            *sum,
                            *printed_total));
        // The total of a normalised table is 100 by making: it says nothing of the unnormalised
        // one.
        if (!table_.unnormalised_total && !table_.normalised.value_or(false) &&
            *printed_total >= low && *printed_total <= high)
            table_.unnormalised_total = printed_total;
    }
    return {};
}

}  // namespace gw::trace
