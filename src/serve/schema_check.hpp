#pragma once
/// For tests: does a value agree with a schema of data/api/openapi.json? The subset that document
/// uses: $ref, type (one or several), enum, oneOf, required, properties, additionalProperties
/// (false, or the schema of every other member), items. A keyword it does not know is a complaint,
/// so that none is passed over in silence.
#include <nlohmann/json.hpp>
#include <set>
#include <string>
#include <vector>

#include "base/json.hpp"

namespace gw::serve {

class SchemaCheck {
  public:
    explicit SchemaCheck(Json document) : document_(std::move(document)) {}

    /// Complaints, each with its place; none when the value agrees.
    std::vector<std::string> operator()(Json const& value, Json const& schema) {
        complaints_.clear();
        check(value, schema, "$");
        return complaints_;
    }
    [[nodiscard]] Json const& document() const { return document_; }

  private:
    static bool is(Json const& value, std::string const& type) {
        if (type == "null") return value.is_null();
        if (type == "boolean") return value.is_boolean();
        if (type == "string") return value.is_string();
        if (type == "integer") return value.is_number_integer();
        if (type == "number") return value.is_number();
        if (type == "array") return value.is_array();
        return type == "object" && value.is_object();
    }

    void complain(std::string const& where, std::string const& what) {
        complaints_.push_back(where + ": " + what);
    }

    void check(Json const& value, Json const& schema, std::string const& where) {
        static std::set<std::string> const known = {"$ref",
                                                    "type",
                                                    "enum",
                                                    "oneOf",
                                                    "required",
                                                    "properties",
                                                    "additionalProperties",
                                                    "items",
                                                    "description"};
        for (auto const& [keyword, ignored] : schema.items())
            if (!known.contains(keyword)) complain(where, "the check does not know " + keyword);
        if (schema.contains("$ref"))
            return check(
                value,
                document_.at(Json::json_pointer(schema["$ref"].get<std::string>().substr(1))),
                where);
        if (schema.contains("oneOf")) return check_one_of(value, schema["oneOf"], where);
        if (schema.contains("type")) {
            auto const& type = schema["type"];
            bool right = false;
            for (auto const& each : type.is_array() ? type : Json::array({type}))
                right = right || is(value, each.get<std::string>());
            if (!right)
                return complain(where, "is no " + type.dump() + ": " + value.dump().substr(0, 60));
        }
        if (schema.contains("enum")) {
            auto const& values = schema["enum"];
            if (std::find(values.begin(), values.end(), value) == values.end())
                complain(where, "is none of " + values.dump() + ": " + value.dump());
        }
        if (value.is_array() && schema.contains("items"))
            for (std::size_t i = 0; i < value.size(); ++i)
                check(value[i], schema["items"], where + "[" + std::to_string(i) + "]");
        if (value.is_object()) check_members(value, schema, where);
    }

    void check_members(Json const& value, Json const& schema, std::string const& where) {
        for (auto const& name : schema.value("required", Json::array()))
            if (!value.contains(name.get<std::string>())) complain(where, "lacks " + name.dump());
        auto const properties = schema.value("properties", Json::object());
        auto const others = schema.value("additionalProperties", Json(true));
        for (auto const& [name, member] : value.items()) {
            if (properties.contains(name))
                check(member, properties[name], where + "." + name);
            else if (others.is_object())
                check(member, others, where + "." + name);
            else if (others == false)
                complain(where, "has a member that is not described: " + name);
        }
    }

    void check_one_of(Json const& value, Json const& choices, std::string const& where) {
        std::vector<std::string> all;
        int fitting = 0;
        for (auto const& choice : choices) {
            SchemaCheck one(document_);
            auto const found = one(value, choice);
            if (found.empty()) ++fitting;
            all.insert(all.end(), found.begin(), found.end());
        }
        if (fitting == 1) return;
        complain(where, "fits " + std::to_string(fitting) + " of the choices");
        complaints_.insert(complaints_.end(), all.begin(), all.end());
    }

    Json document_;
    std::vector<std::string> complaints_;
};

}  // namespace gw::serve
