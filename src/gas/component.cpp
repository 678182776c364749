#include "gas/component.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "gas_tables.hpp"

namespace gw::gas {

static_assert(generated::components.size() == real_component_count);
static_assert(generated::names.size() == component_count);

std::optional<Component> find_component(std::string_view name) {
    std::string key;
    key.reserve(name.size());
    for (char const c : name)
        if (c != ' ' && c != '-' && c != ',' && c != '_')
            key += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    auto const& keys = generated::name_keys;  // sorted by the generator
    auto const* const found =
        std::lower_bound(keys.begin(), keys.end(), key, [](auto const& row, std::string const& k) {
            return row.key < k;
        });
    if (found == keys.end() || found->key != key) return std::nullopt;
    return Component{found->index};
}

Result<Component> require_component(std::string_view name, std::string const& where) {
    if (auto const component = find_component(name)) return *component;
    return fail(
        Errc::bad_input,
        fmt::format("\"{}\" is no component this program knows.", name.substr(0, 60)),
        where,
        "use a full name such as n-butane or carbon dioxide, or a short form such as iC4 or CO2");
}

std::string_view name(Component component) { return generated::names.at(component.index); }

int atoms(Component component, Element element) {
    if (component == c6_plus) return 0;
    return generated::components.at(component.index).atoms.at(static_cast<std::size_t>(element));
}

int carbon_number(Component component) {
    return component == c6_plus ? 6 : atoms(component, Element::C);
}

bool is_hydrocarbon(Component component) {
    if (component == c6_plus) return true;
    auto const& counts = generated::components.at(component.index).atoms;
    auto const C = static_cast<std::size_t>(Element::C);
    auto const H = static_cast<std::size_t>(Element::H);
    for (std::size_t e = 0; e < counts.size(); ++e)
        if (e != C && e != H && counts[e] != 0) return false;
    return counts[C] > 0 && counts[H] > 0;
}

bool belongs_to_c6_plus(Component component) {
    static auto const cyclopentane = find_component("cyclopentane");
    return is_hydrocarbon(component) &&
           (carbon_number(component) >= 6 || component == cyclopentane);
}

}  // namespace gw::gas
