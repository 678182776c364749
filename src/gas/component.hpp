#pragma once
/// The components Gaswright knows, and every name they go by.
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace gw::gas {

/// One row of the catalogue: first the 60 components of ISO 6976:2016 in the order of its table,
/// then the pseudo-component C6+ (all hexanes and heavier as one peak).
struct Component {
    std::uint8_t index{};
    // NOLINTNEXTLINE(modernize-use-nullptr): clang-tidy 14 misreads a defaulted comparison
    friend constexpr auto operator<=>(Component const&, Component const&) = default;
};

inline constexpr std::uint8_t real_component_count = 60;
inline constexpr Component c6_plus{real_component_count};
inline constexpr std::uint8_t component_count = real_component_count + 1;

/// Counts of the elements of ISO 6976:2016 Table 1 in one molecule, in this order.
enum class Element : std::uint8_t { C, H, N, O, S, He, Ne, Ar };
inline constexpr std::size_t element_count = 8;

/// The component of a name as written in the contract ("n-butane", "carbon dioxide") or a usual
/// short form ("nC4", "n-C4", "CO2", "i-butane", "2-methylpropane", "C6+"). Case, blanks, hyphens,
/// commas and underscores do not matter. Never guesses: "C4" and "butanes" are nothing.
std::optional<Component> find_component(std::string_view name);
/// The same as an error that names what was not understood; `where` is the file and field.
Result<Component> require_component(std::string_view name, std::string const& where);

std::string_view name(Component component);       ///< the contract's name
int atoms(Component component, Element element);  ///< 0 for C6+
int carbon_number(Component component);           ///< 6 for C6+
bool is_hydrocarbon(Component component);         ///< carbon and hydrogen only; true for C6+
/// True for what a lumped C6+ peak holds: hydrocarbons of carbon number 6 and more, and
/// cyclopentane, which every backflush method counts there (common practice, no source).
bool belongs_to_c6_plus(Component component);

}  // namespace gw::gas
