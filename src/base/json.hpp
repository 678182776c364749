#pragma once
/// Reading JSON so that every error names the file and the field, and writing it in a fixed order.
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/quantity.hpp"
#include "base/result.hpp"

namespace gw {

using Json = nlohmann::ordered_json;  ///< keeps the order of the file: compositions are ordered

/// A JSON value together with the place it came from ("method.json:peaks[3].retention_s").
/// Cheap to copy; valid while its Document lives.
class Field {
  public:
    Field(Json const& value, std::string where) : value_(&value), where_(std::move(where)) {}

    [[nodiscard]] std::string const& where() const { return where_; }
    [[nodiscard]] Json const& raw() const { return *value_; }
    [[nodiscard]] bool is_null() const;
    [[nodiscard]] bool is_object() const;
    [[nodiscard]] bool is_array() const;
    [[nodiscard]] bool is_text() const;
    [[nodiscard]] bool is_number() const;

    /// A member that may be absent; null counts as absent.
    [[nodiscard]] std::optional<Field> find(std::string_view key) const;
    /// A member that must be there.
    [[nodiscard]] Result<Field> at(std::string_view key) const;

    [[nodiscard]] Result<double> number() const;  ///< finite
    [[nodiscard]] Result<double> number_within(double low, double high) const;
    [[nodiscard]] Result<std::string> text() const;
    [[nodiscard]] Result<bool> boolean() const;
    [[nodiscard]] Result<std::vector<Field>> items() const;  ///< of an array
    [[nodiscard]] Result<std::vector<std::pair<std::string, Field>>> members()
        const;  ///< of an object, file order

    // Shorthands for members.
    [[nodiscard]] Result<double> number(std::string_view key) const;
    [[nodiscard]] Result<double> number_or(std::string_view key, double otherwise) const;
    [[nodiscard]] Result<std::optional<double>> optional_number(std::string_view key) const;
    [[nodiscard]] Result<std::string> text(std::string_view key) const;
    [[nodiscard]] Result<std::string> text_or(std::string_view key, std::string otherwise) const;

    /// The error "what", placed at this field.
    [[nodiscard]] tl::unexpected<Error> wrong(std::string what, std::string mend = {}) const;

  private:
    Json const* value_;
    std::string where_;
};

/// A parsed file. Copies share the tree.
class Document {
  public:
    Document(std::shared_ptr<Json const> tree, std::string source)
        : tree_(std::move(tree)), source_(std::move(source)) {}
    [[nodiscard]] Field root() const { return {*tree_, source_ + ":"}; }
    [[nodiscard]] std::string const& source() const { return source_; }

  private:
    std::shared_ptr<Json const> tree_;
    std::string source_;
};

/// Parses one JSON document. Refuses duplicate keys, depth over 100, text after the end.
Result<Document> parse_json(std::string_view text, std::string const& source);

/// True when the bytes look like JSON rather than a table: first character is { or [.
bool looks_like_json(std::string_view text);

/// "schema" absent is accepted, "gaswright.KIND/1" is right, anything else is refused.
Result<> require_schema(Field const& root, std::string_view kind);

/// {"value", "u", "unit"}
Json quantity_json(Measured const& quantity, std::string_view unit);

/// Pretty text, two blanks of indent, numbers in shortest round-trip form, final newline.
std::string to_text(Json const& json);

}  // namespace gw
