#pragma once
/// ISO 6976 and GPA 2172 for very many compositions of the same components: everything that does
/// not change with the amounts is prepared once. The uncertainty of the tables is left out: it is
/// common to the two sides of any comparison.
#include <array>
#include <span>
#include <string_view>
#include <vector>

#include "gas/reference.hpp"

namespace gw::gas {

/// The properties that a performance evaluation judges, by the names of the contract.
enum class RealProperty { gross_cv_volume, net_cv_volume, gross_wobbe, density, relative_density };
inline constexpr std::size_t real_property_count = 5;
std::string_view name(RealProperty property);
std::string_view unit(RealProperty property);

class PropertySums {
  public:
    /// heavy_end: what C6+ is valued as, where it is among the components.
    /// By GPA 2172 in its units (Btu/ft3, lb/ft3), dry; water is refused then: the standard values
    /// the dry gas.
    static Result<PropertySums> prepare(std::span<Component const> components,
                                        Characterisation const& heavy_end,
                                        Reference const& reference);

    using Values = std::array<double, real_property_count>;
    /// x: mole fractions, mol/mol, summing to one, in the order of the components. Same figures as
    /// iso6976() to rounding. Cost: one pass.
    [[nodiscard]] Values values(std::span<double const> x) const;
    /// The same with d value / d x_i of each property: gradient[p * n + i].
    [[nodiscard]] Values values(std::span<double const> x, std::span<double> gradient) const;
    [[nodiscard]] std::size_t size() const { return weights_.size(); }

  private:
    static constexpr std::size_t sums = 4;  // gross, net, mass, root deficit
    static Result<PropertySums> by_iso(std::span<Component const> components,
                                       Characterisation const& heavy_end,
                                       Iso6976Options const& options);
    static Result<PropertySums> by_gpa(std::span<Component const> components,
                                       Characterisation const& heavy_end,
                                       Gpa2172Options const& options);
    template <class F>  // F: component to its four weights
    static Result<PropertySums> weighed(std::span<Component const> components,
                                        Characterisation const& heavy_end,
                                        F const& of_one);
    Values of(std::array<double, sums> const& s,
              std::array<std::array<double, sums>, real_property_count>* slopes) const;
    std::vector<std::array<double, sums>> weights_;
    double pressure_ratio_{}, ideal_volume_{}, mass_of_air_{}, z_of_air_{};
};

}  // namespace gw::gas
