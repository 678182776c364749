#pragma once
/// A gas as mole fractions with covariance. Never silently normalised: the total is evidence.
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/json.hpp"
#include "base/matrix.hpp"
#include "base/result.hpp"
#include "gas/component.hpp"

namespace gw::gas {

/// How C6+ is split: mole fractions of the plus fraction, summing to one.
struct Characterisation {
    std::vector<std::pair<Component, double>> parts;  ///< empty: not stated
    std::string origin;                               ///< where it came from, for people
};

/// 47.466 / 35.340 / 17.194 mol% n-hexane / n-heptane / n-octane: common practice, no source.
Characterisation default_characterisation();

/// Parses {"C6+": {"n-hexane": 0.47, ...}}; the shares must sum to one within 1e-3 and are scaled
/// to it.
Result<Characterisation> read_characterisation(Field const& object);

struct Composition {
    std::vector<Component> components;  ///< unique, in the order of the file
    std::vector<double> x;              ///< mol/mol, same order, not normalised
    SquareMatrix V;                     ///< covariance, (mol/mol)^2, same order; empty: none stated
    Characterisation characterisation;  ///< of C6+, empty when not stated

    [[nodiscard]] double total() const;
    [[nodiscard]] double fraction(Component component) const;  ///< 0 when absent
};

/// Parses a `composition` file (contract section 1). Accepts units "mol/mol" and "mol%", standard
/// uncertainties, covariance or correlation, characterisation; and the composition that `assay run`
/// writes. Refuses unknown components by name, negative fractions, doubled components, a matrix
/// that is no covariance, a split that does not sum to one within 1e-3 (it is scaled to one
/// exactly).
Result<Composition> read_composition(Field const& root);

/// The same gas as a `composition` file in mol/mol.
Json composition_json(Composition const& gas);

struct TotalOptions {
    bool normalise = false;
    double tolerance = 0.001;  ///< mol/mol; contract: a total further from one is refused
};
struct TotalReport {
    double total{};           ///< as given, mol/mol
    bool normalised = false;  ///< true when x and V were scaled to one
};
/// Applies the contract's rule for totals: refuse, or scale x to one and V through J V J' with
/// J = (delta - x)/total (ISO 6974-2).
Result<std::pair<Composition, TotalReport>> with_checked_total(Composition gas,
                                                               TotalOptions const& options,
                                                               std::string const& where);

/// C6+ replaced by its parts (the gas's own characterisation, else `otherwise`); amounts of a part
/// already present add up, V follows by congruence. Unchanged when there is no C6+.
Composition expanded(Composition const& gas, Characterisation const& otherwise);

/// x and V scaled to total one: V <- J V J', J_ij = (delta_ij - x_i)/total.
Composition normalised(Composition gas);

}  // namespace gw::gas
