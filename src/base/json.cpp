#include "base/json.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "base/text.hpp"

namespace gw {

namespace {

constexpr int deepest = 100;  // no file of ours is deeper than 10; a bomb is

std::string kind_of(Json const& value) {
    switch (value.type()) {
        case Json::value_t::null:
            return "null";
        case Json::value_t::object:
            return "an object";
        case Json::value_t::array:
            return "a list";
        case Json::value_t::string:
            return "text";
        case Json::value_t::boolean:
            return "true or false";
        case Json::value_t::number_integer:
        case Json::value_t::number_unsigned:
        case Json::value_t::number_float:
            return "a number";
        case Json::value_t::binary:
        case Json::value_t::discarded:
            break;
    }
    return "nothing";
}

}  // namespace

bool Field::is_null() const { return value_->is_null(); }
bool Field::is_object() const { return value_->is_object(); }
bool Field::is_array() const { return value_->is_array(); }
bool Field::is_text() const { return value_->is_string(); }
bool Field::is_number() const { return value_->is_number(); }

tl::unexpected<Error> Field::wrong(std::string what, std::string mend) const {
    auto where = where_;
    if (!where.empty() && where.back() == ':') where.pop_back();
    return fail(Errc::bad_input, std::move(what), std::move(where), std::move(mend));
}

std::optional<Field> Field::find(std::string_view key) const {
    if (!value_->is_object()) return std::nullopt;
    auto const it = value_->find(std::string(key));
    if (it == value_->end() || it->is_null()) return std::nullopt;
    auto const between = !where_.empty() && where_.back() == ':' ? "" : ".";
    return Field(*it, fmt::format("{}{}{}", where_, between, key));
}

Result<Field> Field::at(std::string_view key) const {
    if (!value_->is_object())
        return wrong(
            fmt::format("An object with \"{}\" is needed here, not {}.", key, kind_of(*value_)));
    if (auto member = find(key)) return *member;
    return wrong(fmt::format("\"{}\" is missing.", key), "add it");
}

Result<double> Field::number() const {
    if (!value_->is_number())
        return wrong(fmt::format("A number is needed here, not {}.", kind_of(*value_)));
    auto const value = value_->get<double>();
    if (!std::isfinite(value)) return wrong("The number is not finite.", "correct it");
    return value;
}

Result<double> Field::number_within(double low, double high) const {
    GW_TRY(double const value, number());
    if (value < low || value > high)
        return wrong(fmt::format("{} is outside {} to {}.", value, low, high),
                     "correct the value or its unit");
    return value;
}

Result<std::string> Field::text() const {
    if (!value_->is_string())
        return wrong(fmt::format("Text is needed here, not {}.", kind_of(*value_)));
    return value_->get<std::string>();
}

Result<bool> Field::boolean() const {
    if (!value_->is_boolean())
        return wrong(fmt::format("true or false is needed here, not {}.", kind_of(*value_)));
    return value_->get<bool>();
}

Result<std::vector<Field>> Field::items() const {
    if (!value_->is_array())
        return wrong(fmt::format("A list is needed here, not {}.", kind_of(*value_)));
    std::vector<Field> out;
    out.reserve(value_->size());
    for (auto const& item : *value_)
        out.emplace_back(item, fmt::format("{}[{}]", where_, out.size()));
    return out;
}

Result<std::vector<std::pair<std::string, Field>>> Field::members() const {
    if (!value_->is_object())
        return wrong(fmt::format("An object is needed here, not {}.", kind_of(*value_)));
    std::vector<std::pair<std::string, Field>> out;
    out.reserve(value_->size());
    auto const between = !where_.empty() && where_.back() == ':' ? "" : ".";
    for (auto const& [key, value] : value_->items())
        out.emplace_back(key, Field(value, fmt::format("{}{}{}", where_, between, key)));
    return out;
}

Result<double> Field::number(std::string_view key) const {
    GW_TRY(auto const member, at(key));
    return member.number();
}

Result<double> Field::number_or(std::string_view key, double otherwise) const {
    auto const member = find(key);
    return member ? member->number() : Result<double>(otherwise);
}

Result<std::optional<double>> Field::optional_number(std::string_view key) const {
    auto const member = find(key);
    if (!member) return std::optional<double>();
    GW_TRY(double const value, member->number());
    return std::optional<double>(value);
}

Result<std::string> Field::text(std::string_view key) const {
    GW_TRY(auto const member, at(key));
    return member.text();
}

Result<std::string> Field::text_or(std::string_view key, std::string otherwise) const {
    auto const member = find(key);
    return member ? member->text() : Result<std::string>(std::move(otherwise));
}

Result<Document> parse_json(std::string_view bytes, std::string const& source) {
    if (trimmed(bytes).empty())
        return fail(Errc::bad_input, "The file is empty.", source, "give a file with content");
    GW_TRY(auto const text, decode_text(bytes, source));
    std::string problem;
    std::vector<std::set<std::string>> keys;
    auto const watch = [&](int depth, Json::parse_event_t event, Json& parsed) {
        if (depth > deepest && problem.empty())
            problem = "The file nests deeper than any file of this kind.";
        if (!problem.empty()) return false;
        if (event == Json::parse_event_t::object_start) {
            keys.resize(static_cast<std::size_t>(depth) + 1);
            keys.back().clear();
        } else if (event == Json::parse_event_t::key) {
            auto const at = static_cast<std::size_t>(depth);
            auto const level = at == 0 ? 0 : at - 1;
            if (level < keys.size() && !keys[level].insert(parsed.get<std::string>()).second)
                problem = fmt::format("The key \"{}\" stands twice in one object.",
                                      parsed.get<std::string>());
        }
        return true;
    };
    try {
        auto tree = std::make_shared<Json>(Json::parse(text, watch));
        if (!problem.empty()) return fail(Errc::bad_input, problem, source, "keep one of them");
        return Document(std::move(tree), source);
    } catch (Json::parse_error const& error) {
        auto const at = std::min(static_cast<std::size_t>(error.byte), text.size());
        auto const line =
            1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n');
        return fail(Errc::bad_input,
                    "This is not complete, correct JSON.",
                    fmt::format("{}:{}", source, line),
                    "look for a missing quote, comma or bracket near this line");
    } catch (Json::exception const&) {  // a number out of range of double
        return fail(Errc::bad_input,
                    "The file holds a number that cannot be represented.",
                    source,
                    "correct the number");
    }
}

bool looks_like_json(std::string_view text) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    auto const body = trimmed(text);
    return !body.empty() && (body.front() == '{' || body.front() == '[');
}

Result<> require_schema(Field const& root, std::string_view kind) {
    if (!root.is_object()) return root.wrong(fmt::format("A {} file is one JSON object.", kind));
    auto const schema = root.find("schema");
    if (!schema) return {};
    GW_TRY(auto const name, schema->text());
    auto const right = fmt::format("gaswright.{}/1", kind);
    if (name != right)
        return schema->wrong(fmt::format("This file says it is \"{}\", but \"{}\" is needed here.",
                                         name.substr(0, 60),
                                         right),
                             "give the right file");
    return {};
}

Json quantity_json(Measured const& quantity, std::string_view unit) {
    return Json{{"value", quantity.value}, {"u", quantity.u}, {"unit", std::string(unit)}};
}

std::string to_text(Json const& json) {
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace gw
