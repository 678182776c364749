// The reader of composition files: what stands in them, and every way it can contradict itself.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numeric>

#include "gas/composition.hpp"

namespace gw::gas {

namespace {

constexpr double largest_amount = 1e3;     // mol/mol: beyond it a figure is no amount in any unit
constexpr double mirror_tolerance = 1e-6;  // of sqrt(V_ii V_jj)
constexpr double rounding_of_correlation = 1e-3;  // published matrices carry few digits
constexpr double rounding_of_u = 0.05;            // u of one or two digits beside a full covariance

struct Amount {
    Component component;
    Field place;
};

/// The members of an object keyed by component, each component once.
Result<std::vector<Amount>> by_component(Field const& object) {
    GW_TRY(auto const members, object.members());
    std::vector<Amount> out;
    for (auto const& [key, place] : members) {
        GW_TRY(auto const component, require_component(key, place.where()));
        for (auto const& other : out)
            if (other.component == component)
                return place.wrong(
                    fmt::format("\"{}\" is {}, which stands here already.", key, name(component)),
                    "keep one of the two");
        out.push_back({component, place});
    }
    return out;
}

Result<double> unit_factor(Field const& root) {
    GW_TRY(auto const unit, root.at("unit"));
    GW_TRY(auto const text, unit.text());
    if (text == "mol/mol") return 1.0;
    if (text == "mol%") return 100.0;
    return unit.wrong(fmt::format("\"{}\" is no unit of a composition.", text.substr(0, 40)),
                      "write mol/mol or mol%");
}

Result<std::size_t> position(std::vector<Component> const& components,
                             Component component,
                             Field const& place) {
    auto const found = std::find(components.begin(), components.end(), component);
    if (found == components.end())
        return place.wrong(fmt::format("\"components\" holds no {}.", name(component)),
                           "add its amount or take it out here");
    return static_cast<std::size_t>(found - components.begin());
}

/// Standard uncertainties in mol/mol, absent ones zero; nothing when the file states none.
struct Stated {
    std::vector<double> u;
    std::vector<bool> here;
    [[nodiscard]] bool any() const {
        return std::find(here.begin(), here.end(), true) != here.end();
    }
};

Result<double> standard_uncertainty(Field const& place, double per_unit) {
    GW_TRY(double const u, place.number());
    if (u < 0) return place.wrong("A standard uncertainty is never negative.", "correct it");
    if (u / per_unit > largest_amount)
        return place.wrong("This is too much to be an uncertainty.",
                           "correct the value or the unit");
    return u / per_unit;
}

/// Amounts into `gas`, and the uncertainties written beside them.
Result<Stated> read_amounts(Field const& object, double per_unit, Composition& gas) {
    GW_TRY(auto const amounts, by_component(object));
    if (amounts.empty()) return object.wrong("The gas has no components.", "state the amounts");
    Stated stated{std::vector<double>(amounts.size(), 0.0),
                  std::vector<bool>(amounts.size(), false)};
    for (std::size_t i = 0; i < amounts.size(); ++i) {
        auto value_place = amounts[i].place;
        if (amounts[i].place.is_object()) {
            GW_TRY(value_place, amounts[i].place.at("value"));
            if (auto const u_place = amounts[i].place.find("u")) {
                GW_TRY(stated.u[i], standard_uncertainty(*u_place, per_unit));
                stated.here[i] = true;
            }
        }
        GW_TRY(double const value, value_place.number());
        if (value < 0) return value_place.wrong("An amount is never negative.", "correct it");
        if (value / per_unit > largest_amount)
            return value_place.wrong("This is too much to be an amount.",
                                     "correct the value or the unit");
        gas.components.push_back(amounts[i].component);
        gas.x.push_back(value / per_unit);
    }
    return stated;
}

Result<> read_uncertainties(Field const& object,
                            double per_unit,
                            Composition const& gas,
                            Stated& stated) {
    GW_TRY(auto const list, by_component(object));
    for (auto const& entry : list) {
        GW_TRY(auto const i, position(gas.components, entry.component, entry.place));
        if (stated.here[i])
            return entry.place.wrong("Its uncertainty stands beside the amount already.",
                                     "keep one of the two");
        GW_TRY(stated.u[i], standard_uncertainty(entry.place, per_unit));
        stated.here[i] = true;
    }
    return {};
}

/// For each row of a matrix of the file, its place in the composition.
Result<std::vector<std::size_t>> read_order(std::optional<Field> const& order,
                                            Composition const& gas) {
    std::vector<std::size_t> out;
    if (!order) {
        out.resize(gas.components.size());
        std::iota(out.begin(), out.end(), std::size_t{0});
        return out;
    }
    GW_TRY(auto const items, order->items());
    for (auto const& item : items) {
        GW_TRY(auto const text, item.text());
        GW_TRY(auto const component, require_component(text, item.where()));
        GW_TRY(auto const i, position(gas.components, component, item));
        if (std::find(out.begin(), out.end(), i) != out.end())
            return item.wrong(fmt::format("{} stands twice in the order.", name(component)),
                              "name each once");
        out.push_back(i);
    }
    return out;
}

Result<SquareMatrix> read_square(Field const& matrix, std::size_t size) {
    GW_TRY(auto const rows, matrix.items());
    auto const wrong_size = [size](Field const& where, std::size_t got) {
        return where.wrong(
            fmt::format("{} entries stand here, but the order has {} components.", got, size),
            "give one row and one column for each, or a component_order");
    };
    if (rows.size() != size) return wrong_size(matrix, rows.size());
    SquareMatrix out(size);
    for (std::size_t i = 0; i < size; ++i) {
        GW_TRY(auto const cells, rows[i].items());
        if (cells.size() != size) return wrong_size(rows[i], cells.size());
        for (std::size_t j = 0; j < size; ++j) {
            GW_TRY(out(i, j), cells[j].number());
        }
    }
    return out;
}

/// Makes V exactly symmetric, or says where it is no covariance. Differences and correlations are
/// judged against sqrt(V_ii V_jj), so that a trace component is checked as strictly as methane.
Result<> settle_symmetry(Field const& matrix, SquareMatrix& V) {
    for (std::size_t i = 0; i < V.size(); ++i)
        if (!(V(i, i) >= 0 && V(i, i) <= largest_amount * largest_amount))
            return matrix.wrong(
                fmt::format("The variance in row {} is negative or too large.", i + 1),
                "correct it");
    for (std::size_t i = 0; i < V.size(); ++i)
        for (std::size_t j = i + 1; j < V.size(); ++j) {
            double const scale = std::sqrt(V(i, i)) * std::sqrt(V(j, j));
            auto const cell = fmt::format("row {} and column {}", i + 1, j + 1);
            if (!(std::abs(V(i, j) - V(j, i)) <= mirror_tolerance * scale))
                return matrix.wrong(
                    fmt::format("{} differ from their mirror image.", cell),
                    "a covariance or correlation is symmetric: correct one of the two");
            V(i, j) = V(j, i) = 0.5 * V(i, j) + 0.5 * V(j, i);
            if (!(std::abs(V(i, j)) <= (1.0 + rounding_of_correlation) * scale))
                return matrix.wrong(fmt::format("{} hold a correlation beyond one.", cell),
                                    "correct it");
        }
    if (!is_covariance(V))
        return matrix.wrong(
            "No amounts can have this covariance: a variance of some sum would be negative.",
            "correct the matrix or leave it out");
    return {};
}

/// u_i r_ij u_j of the rows the correlation names; the others stay uncorrelated.
Result<> apply_correlation(Field const& matrix,
                           std::optional<Field> const& order,
                           Stated const& stated,
                           Composition& gas) {
    if (!stated.any())
        return matrix.wrong("A correlation needs standard uncertainties.",
                            "add standard_uncertainty");
    GW_TRY(auto const rows, read_order(order, gas));
    GW_TRY(auto r, read_square(matrix, rows.size()));
    for (std::size_t i = 0; i < r.size(); ++i)
        if (std::abs(r(i, i) - 1.0) > rounding_of_correlation)
            return matrix.wrong(
                fmt::format("The correlation of row {} with itself is {}, not 1.", i + 1, r(i, i)),
                "is this a covariance?");
    GW_CHECK(settle_symmetry(matrix, r));
    for (std::size_t i = 0; i < r.size(); ++i)
        for (std::size_t j = i + 1; j < r.size(); ++j)
            gas.V(rows[i], rows[j]) = gas.V(rows[j], rows[i]) =
                stated.u[rows[i]] * r(i, j) * stated.u[rows[j]];
    return {};
}

Result<> apply_covariance(Field const& matrix,
                          std::optional<Field> const& order,
                          double per_unit,
                          Stated const& stated,
                          Composition& gas) {
    GW_TRY(auto const rows, read_order(order, gas));
    GW_TRY(auto covariance, read_square(matrix, rows.size()));
    for (double& cell : covariance.cells()) cell /= per_unit * per_unit;
    GW_CHECK(settle_symmetry(matrix, covariance));
    for (std::size_t i = 0; i < rows.size(); ++i)
        for (std::size_t j = 0; j < rows.size(); ++j) gas.V(rows[i], rows[j]) = covariance(i, j);
    for (std::size_t const i : rows) {
        if (!stated.here[i]) continue;
        double const u = std::sqrt(std::max(gas.V(i, i), 0.0));
        if (!(std::abs(u - stated.u[i]) <= rounding_of_u * std::max(u, stated.u[i])))
            return matrix.wrong(
                fmt::format(
                    "The variance of {} gives u = {:.4g} mol/mol, but {:.4g} mol/mol is stated.",
                    name(gas.components[i]),
                    u,
                    stated.u[i]),
                "the covariance is in the square of the file's unit: correct one of the two");
    }
    return {};
}

}  // namespace

Result<Characterisation> read_characterisation(Field const& object) {
    Characterisation out;
    GW_TRY(auto const lumps, by_component(object));
    for (auto const& lump : lumps) {
        if (lump.component != c6_plus)
            return lump.place.wrong("Only C6+ is split into parts.", "name it C6+ or take it out");
        GW_TRY(auto const parts, by_component(lump.place));
        double sum = 0.0;
        for (auto const& part : parts) {
            if (part.component == c6_plus)
                return part.place.wrong("C6+ cannot be a part of itself.", "name its parts");
            GW_TRY(double const share, part.place.number());
            if (share < 0) return part.place.wrong("A share is never negative.", "correct it");
            out.parts.emplace_back(part.component, share);
            sum += share;
        }
        if (!(std::abs(sum - 1.0) <= 1e-3 + 1e-12))
            return lump.place.wrong(fmt::format("The parts add up to {:.6g}, not to one.", sum),
                                    "give mole fractions of the plus fraction");
        for (auto& part : out.parts) part.second /= sum;
        out.origin = lump.place.where();
    }
    return out;
}

namespace {

Result<Composition> read_here(Field const& root) {
    GW_CHECK(require_schema(root, "composition"));
    GW_TRY(double const per_unit, unit_factor(root));
    GW_TRY(auto const object, root.at("components"));
    Composition gas;
    GW_TRY(auto stated, read_amounts(object, per_unit, gas));
    if (auto const list = root.find("standard_uncertainty"))
        GW_CHECK(read_uncertainties(*list, per_unit, gas, stated));

    auto const order = root.find("component_order");
    auto const covariance = root.find("covariance");
    auto const correlation = root.find("correlation");
    if (covariance && correlation)
        return correlation->wrong("Both a covariance and a correlation are given.",
                                  "keep one of the two");
    if (stated.any() || covariance) gas.V = SquareMatrix::of_standard_uncertainties(stated.u);
    if (covariance) GW_CHECK(apply_covariance(*covariance, order, per_unit, stated, gas));
    if (correlation) GW_CHECK(apply_correlation(*correlation, order, stated, gas));
    GW_CHECK(settle_symmetry(root, gas.V));  // once more as a whole, rows in the order of the gas

    if (auto const split = root.find("characterisation")) {
        GW_TRY(gas.characterisation, read_characterisation(*split));
    }
    return gas;
}

}  // namespace

Result<Composition> read_composition(Field const& root) {
    // The answer of `assay run` carries its composition as a member.
    if (auto const inner = root.find("composition");
        inner && inner->is_object() && !root.find("components"))
        return read_here(*inner);
    return read_here(root);
}

}  // namespace gw::gas
