#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "base/json.hpp"
#include "base/text.hpp"
#include "trace/report_columns.hpp"

namespace gw::trace {

namespace {

/// A member's value as header text: yes/no for true/false, numbers in shortest form.
std::optional<std::string> scalar_text(Field const& field) {
    if (field.is_text()) return field.raw().get<std::string>();
    if (field.is_number()) return shortest(field.raw().get<double>());
    if (field.raw().is_boolean()) return field.raw().get<bool>() ? "yes" : "no";
    if (auto const value = field.find("value"); value && value->is_number())
        return shortest(value->raw().get<double>());
    return std::nullopt;
}

Result<> read_row(Field const& item, ReportBuilder& builder) {
    GW_TRY(auto const members, item.members());
    std::optional<Field> component;
    for (auto const& member : members)
        if (column_meaning(member.first).column == ReportColumn::component)
            component = member.second;
    if (!component) return item.wrong("The row names no component.", "add \"component\"");
    GW_TRY(auto const name, component->text());
    GW_CHECK(builder.start_row(name, component->where()));
    bool seen[8] = {};
    for (auto const& member : members) {
        auto const meaning = column_meaning(member.first);
        auto const& field = member.second;
        if (meaning.column == ReportColumn::component || meaning.column == ReportColumn::unused ||
            field.is_null())
            continue;
        if (bool& before = seen[static_cast<std::size_t>(meaning.column)]; before)
            return field.wrong("This value is given twice in one row.", "keep one of them");
        else
            before = true;
        GW_TRY(double const number, field.number());
        GW_CHECK(builder.value(meaning, number, field.where()));
    }
    return {};
}

}  // namespace

Result<ReportTable> read_report_json(std::string_view bytes, std::string const& source) {
    GW_TRY(auto const document, parse_json(bytes, source));
    auto const root = document.root();
    ReportTable table;
    table.source = source;
    table.hash = sha256(bytes);
    ReportBuilder builder(table);
    auto rows = root;
    if (root.is_object()) {
        GW_CHECK(require_schema(root, "report"));
        GW_TRY(rows, root.at("rows"));
        GW_TRY(auto const members, root.members());
        for (auto const& member : members) {
            if (member.first == "rows" || member.first == "schema" || member.second.is_null())
                continue;
            auto const text = scalar_text(member.second);
            if (text)
                GW_CHECK(builder.entry(member.first, *text, member.second.where()));
            else if (ReportBuilder::is_known_key(member.first))
                return member.second.wrong("A single value is needed here.",
                                           "give a text or a number");
        }
    }
    GW_TRY(auto const items, rows.items());
    for (auto const& item : items) GW_CHECK(read_row(item, builder));
    GW_CHECK(builder.finish(std::nullopt));
    return table;
}

}  // namespace gw::trace
