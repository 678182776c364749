// The reader of `evaluation` files.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/performance.hpp"

namespace gw::assay {

namespace {

constexpr std::size_t most_compositions = 10'000'000;

Result<std::size_t> index_of(PerformanceSpec const& spec,
                             std::string const& key,
                             Field const& place,
                             bool& known) {
    GW_TRY(auto const component, gas::require_component(key, place.where()));
    auto const found = std::find(spec.components.begin(), spec.components.end(), component);
    known = found != spec.components.end();
    return static_cast<std::size_t>(found - spec.components.begin());
}

Result<> read_range(Field const& range, PerformanceSpec& spec) {
    GW_TRY(auto const members, range.members());
    if (members.empty()) return range.wrong("The range names no component.", "give [low, high]");
    for (auto const& [key, place] : members) {
        GW_TRY(auto const component, gas::require_component(key, place.where()));
        if (std::find(spec.components.begin(), spec.components.end(), component) !=
            spec.components.end())
            return place.wrong(fmt::format("{} stands here twice.", gas::name(component)),
                               "keep one of the two");
        GW_TRY(auto const ends, place.items());
        if (ends.size() != 2)
            return place.wrong("A range is two amounts, [low, high].", "give both");
        GW_TRY(double const low, ends[0].number());
        GW_TRY(double const high, ends[1].number());
        if (!(low >= 0 && high <= 1))
            return place.wrong("A range is in mol/mol, from 0 to 1.", "divide mol% by 100");
        if (!(high >= low) || !(high > 0))
            return place.wrong("The low end of this range lies above its high end.",
                               "give [low, high]");
        spec.components.push_back(component);
        spec.low.push_back(low);
        spec.high.push_back(high);
    }
    double low = 0, high = 0;
    for (std::size_t i = 0; i < spec.low.size(); ++i) low += spec.low[i], high += spec.high[i];
    if (low > 1 + 1e-9 || high < 1 - 1e-9)
        return range.wrong(
            fmt::format("No gas lies in this range: its amounts add up to {:.6g} to {:.6g}, never "
                        "to one.",
                        low,
                        high),
            "widen the range");
    return {};
}

Result<Measured> read_amount(Field const& place) {
    Measured out;
    if (place.is_object()) {
        GW_TRY(out.value, place.number("value"));
        GW_TRY(out.u, place.number_or("u", 0));
    } else {
        GW_TRY(out.value, place.number());
    }
    if (!(out.value >= 0 && out.value <= 1))
        return place.wrong("An amount is in mol/mol, from 0 to 1.", "divide mol% by 100");
    if (!(out.u >= 0 && out.u <= 1))
        return place.wrong("A standard uncertainty is in mol/mol, from 0 to 1.", "correct it");
    return Measured{100 * out.value, 100 * out.u};
}

Result<ReferenceGas> read_gas(Field const& place, std::size_t index, PerformanceSpec& spec) {
    ReferenceGas out;
    out.percent.resize(spec.components.size());
    out.areas.resize(spec.components.size());
    GW_TRY(auto const components, place.at("components"));
    GW_TRY(auto const amounts, components.members());
    double total = 0;
    for (auto const& [key, amount] : amounts) {
        bool known = false;
        GW_TRY(auto const i, index_of(spec, key, amount, known));
        GW_TRY(auto const percent, read_amount(amount));
        total += percent.value;
        if (known)
            out.percent[i] = percent;
        else if (percent.value > 0)
            spec.warnings.push_back(fmt::format(
                "Reference gas {} holds {}, which the range does not name: it is left out.",
                index,
                key));
    }
    if (std::abs(total - 100) > 0.5)
        spec.warnings.push_back(
            fmt::format("The amounts of reference gas {} add up to {:.3f} mol%.", index, total));
    GW_TRY(auto const responses, place.at("responses"));
    GW_TRY(auto const lists, responses.members());
    for (auto const& [key, list] : lists) {
        bool known = false;
        GW_TRY(auto const i, index_of(spec, key, list, known));
        std::vector<double> runs;
        if (list.is_number()) {
            GW_TRY(double const one, list.number());
            runs.push_back(one);
        } else {
            GW_TRY(auto const items, list.items());
            for (auto const& item : items) {
                GW_TRY(double const one, item.number());
                runs.push_back(one);
            }
        }
        if (!known) continue;
        if (runs.empty()) continue;
        if (!(out.percent[i].value > 0)) {
            spec.warnings.push_back(fmt::format(
                "Reference gas {} has responses of {} but no amount of it: they are left out.",
                index,
                key));
            continue;
        }
        out.areas[i] = std::move(runs);
    }
    return out;
}

Result<> read_limits(Field const& limits, PerformanceSpec& spec) {
    GW_TRY(auto const members, limits.members());
    for (auto const& [key, place] : members) {
        bool known = false;
        for (std::size_t p = 0; p < gas::real_property_count; ++p) {
            if (key != gas::name(gas::RealProperty(p))) continue;
            known = true;
            GW_TRY(double const limit, place.number("error_percent"));
            if (!(limit > 0)) return place.wrong("A limit is above zero.", "correct it");
            spec.limit_percent[p] = limit;
        }
        if (!known)
            return place.wrong(
                fmt::format("\"{}\" is no property that is evaluated.", key.substr(0, 40)),
                "take gross_cv_volume, net_cv_volume, gross_wobbe, density or relative_density");
    }
    return {};
}

template <class T>
Result<T> placed(Result<T> result, std::optional<Field> const& field) {
    if (result || !field) return result;
    auto error = std::move(result).error();
    error.where = field->where();
    return Result<T>(pass_on(std::move(error)));
}

Result<> read_reference_conditions(Field const& root, PerformanceSpec& spec) {
    GW_TRY(auto const standard, root.text_or("standard", "iso6976"));
    if (standard == "gpa2172") {
        GW_TRY(double const base, root.number_or("pressure_kpa", 101.325));
        gas::Gpa2172Options options{kilopascal(base)};
        if (auto const ok = gas::require_base_pressure(options.base); !ok) {
            auto error = ok.error();
            if (auto const field = root.find("pressure_kpa")) error.where = field->where();
            return pass_on(std::move(error));
        }
        for (auto const* key : {"combustion_c", "metering_c"})
            if (root.find(key))
                spec.warnings.push_back(
                    fmt::format("GPA 2172 stands at 60 degF: {} is not used.", key));
        spec.reference = options;
        return {};
    }
    if (standard != "iso6976")
        return root.find("standard")
            ->wrong(fmt::format("\"{}\" is not offered for an evaluation.", standard.substr(0, 40)),
                    "take iso6976 or gpa2172");
    gas::Iso6976Options options;
    GW_TRY(double const combustion, root.number_or("combustion_c", 15));
    GW_TRY(double const metering, root.number_or("metering_c", 15));
    GW_TRY(double const pressure, root.number_or("pressure_kpa", 101.325));
    GW_TRY(options.combustion,
           placed(gas::combustion_temperature(combustion), root.find("combustion_c")));
    GW_TRY(options.metering, placed(gas::metering_temperature(metering), root.find("metering_c")));
    options.pressure = kilopascal(pressure);
    if (auto const ok = gas::require_metering_pressure(options.pressure); !ok) {
        auto error = ok.error();
        if (auto const field = root.find("pressure_kpa")) error.where = field->where();
        return pass_on(std::move(error));
    }
    spec.reference = options;
    return {};
}

Result<> read_orders(Field const& orders, PerformanceSpec& spec) {
    GW_TRY(auto const members, orders.members());
    for (auto const& [key, place] : members) {
        bool known = false;
        GW_TRY(auto const i, index_of(spec, key, place, known));
        if (!known)
            return place.wrong(fmt::format("The range does not name {}.", key), "add its range");
        GW_TRY(double const order, place.number());
        if (order != 1 && order != 2 && order != 3)
            return place.wrong("The order of a response function is 1, 2 or 3.", "correct it");
        spec.order[i] = static_cast<std::size_t>(order);
    }
    return {};
}

Result<> check(Field const& root, PerformanceSpec const& spec) {
    auto const& calibration = spec.gases[spec.calibration_gas];
    for (std::size_t i = 0; i < spec.components.size(); ++i) {
        bool seen = false;
        for (auto const& gas : spec.gases) seen = seen || !gas.areas[i].empty();
        if (!seen)
            return root.find("reference_gases")
                ->wrong(fmt::format("No reference gas has responses of {}.",
                                    gas::name(spec.components[i])),
                        "add them, or take the component out of the range");
        if (!(calibration.percent[i].value > 0))
            return root.find("reference_gases")
                ->wrong(fmt::format("The calibration gas holds no {}: nothing gives its factor.",
                                    gas::name(spec.components[i])),
                        "choose another calibration_gas");
    }
    return {};
}

}  // namespace

Result<PerformanceSpec> read_performance_spec(Field const& root) {
    GW_CHECK(require_schema(root, "evaluation"));
    PerformanceSpec spec;
    GW_TRY(auto const range, root.at("range"));
    GW_CHECK(read_range(range, spec));
    spec.order.resize(spec.components.size());
    GW_TRY(auto const list, root.at("reference_gases"));
    GW_TRY(auto const gases, list.items());
    if (gases.empty())
        return list.wrong("No reference gas is given.", "give at least the calibration gas");
    for (std::size_t g = 0; g < gases.size(); ++g) {
        GW_TRY(auto gas, read_gas(gases[g], g, spec));
        spec.gases.push_back(std::move(gas));
    }
    GW_TRY(auto const assumed, root.text_or("assumed", "proportional"));
    if (assumed != "proportional")
        return root.find("assumed")->wrong(
            fmt::format("\"{}\" is not offered as an assumed response.", assumed.substr(0, 40)),
            "take proportional");
    GW_TRY(double const index, root.number_or("calibration_gas", 0));
    if (!(index >= 0 && index < static_cast<double>(gases.size()) && index == std::floor(index)))
        return root.find("calibration_gas")
            ->wrong(fmt::format("There is no reference gas {}.", index),
                    fmt::format("they are counted from 0 to {}", gases.size() - 1));
    spec.calibration_gas = static_cast<std::size_t>(index);
    if (auto const orders = root.find("order")) GW_CHECK(read_orders(*orders, spec));
    if (auto const limits = root.find("limits")) GW_CHECK(read_limits(*limits, spec));
    GW_CHECK(read_reference_conditions(root, spec));
    if (auto const split = root.find("characterisation")) {
        GW_TRY(spec.heavy_end, gas::read_characterisation(*split));
    }
    if (spec.heavy_end.parts.empty()) {
        spec.heavy_end = gas::default_characterisation();
        if (std::find(spec.components.begin(), spec.components.end(), gas::c6_plus) !=
            spec.components.end())
            spec.warnings.emplace_back(
                "C6+ is valued by the usual split: the evaluation states no characterisation.");
    }
    GW_TRY(double const count, root.number_or("compositions", 10000));
    if (!(count >= 1 && count <= static_cast<double>(most_compositions) &&
          count == std::floor(count)))
        return root.find("compositions")
            ->wrong("The number of compositions is a whole number from 1 to 10000000.",
                    "correct it");
    spec.compositions = static_cast<std::size_t>(count);
    GW_TRY(double const seed, root.number_or("seed", 1));
    if (!(seed >= 0 && seed <= 9007199254740992.0 && seed == std::floor(seed)))
        return root.find("seed")->wrong("The seed is a whole number from 0.", "correct it");
    spec.seed = static_cast<std::uint64_t>(seed);
    GW_CHECK(check(root, spec));
    return spec;
}

}  // namespace gw::assay
