#include "assay/cylinder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"

namespace gw::assay {

namespace {

constexpr double lowest_total = 0.90, highest_total = 1.10;  // mol/mol
constexpr int most_decimals = 12;  // beyond it a double of this size holds noise

/// Decimal places of a number as written. Trailing zeros are lost in JSON; the finest amount has
/// none.
int decimals_of(double value) {
    auto text = fmt::format("{:.{}f}", value, most_decimals);
    text.erase(text.find_last_not_of('0') + 1);
    return static_cast<int>(text.size() - text.find('.') - 1);
}

/// "pressure_kpa", or "pressure_gauge_kpa" with the ambient pressure beside it.
Result<std::optional<Pressure>> read_pressure(Field const& root, std::string const& stem) {
    constexpr double highest_kpa = 1e5;
    auto const absolute_field = root.find(stem + "_kpa"),
               gauge_field = root.find(stem + "_gauge_kpa");
    if (absolute_field && gauge_field)
        return gauge_field->wrong("The pressure is given twice, absolute and gauge.",
                                  "keep one of the two");
    if (absolute_field) {
        GW_TRY(double const p, absolute_field->number_within(0, highest_kpa));
        return std::optional(kilopascal(p));
    }
    if (!gauge_field) return std::optional<Pressure>();
    GW_TRY(double const gauge, gauge_field->number_within(-110, highest_kpa));
    auto const ambient_field = root.find("ambient_kpa");
    if (!ambient_field)
        return gauge_field->wrong("A gauge pressure needs the ambient pressure.",
                                  "add ambient_kpa");
    GW_TRY(double const ambient, ambient_field->number_within(40, 110));
    auto const p = absolute(gauge_kilopascal(gauge), kilopascal(ambient));
    if (in_kilopascal(p) < 0)
        return gauge_field->wrong("This lies below a vacuum.",
                                  "correct it, or the ambient pressure");
    return std::optional(p);
}

Result<std::optional<Temperature>> read_temperature(Field const& root, char const* key) {
    auto const field = root.find(key);
    if (!field) return std::optional<Temperature>();
    GW_TRY(double const t, field->number_within(-100, 100));
    return std::optional(celsius(t));
}

Result<std::optional<Date>> read_date(Field const& root, char const* key) {
    auto const field = root.find(key);
    if (!field) return std::optional<Date>();
    GW_TRY(auto const text, field->text());
    GW_TRY(auto const date, parse_date(text, field->where()));
    return std::optional(date);
}

Result<std::vector<std::string>> read_texts(Field const& root, char const* key) {
    std::vector<std::string> out;
    auto const field = root.find(key);
    if (!field) return out;
    if (!field->is_array()) {
        GW_TRY(out.emplace_back(), field->text());
        return out;
    }
    GW_TRY(auto const items, field->items());
    for (auto const& item : items) {
        GW_TRY(out.emplace_back(), item.text());
    }
    return out;
}

Result<std::string> read_serial(Field const& root) {
    GW_TRY(auto const field, root.at("serial"));
    if (field.is_number()) return field.raw().dump();  // a serial of digits only, unquoted
    GW_TRY(auto serial, field.text());
    if (trimmed(serial).empty())
        return field.wrong("The serial is empty.", "give the number on the collar");
    return serial;
}

Result<CylinderRole> read_role(Field const& root) {
    auto const field = root.find("role");
    if (!field) return CylinderRole::calibration;
    GW_TRY(auto const text, field->text());
    for (auto const role : {CylinderRole::calibration, CylinderRole::proving})
        if (text == name(role)) return role;
    return field->wrong("The role is neither \"calibration\" nor \"proving\".",
                        "write one of the two");
}

Result<StatedCalorificValue> read_stated_value(Field const& field) {
    StatedCalorificValue out;
    if (!field.is_object()) {
        GW_TRY(out.mj_per_m3, field.number_within(1, 200));
        return out;
    }
    GW_TRY(auto const unit, field.text_or("unit", "MJ/m3"));
    // International table Btu and the foot, both exact: 1055.05585262 J, 0.3048 m.
    double const per_unit = unit == "MJ/m3"    ? 1.0
                            : unit == "kWh/m3" ? 3.6
                            : unit == "Btu/ft3" || unit == "Btu/scf"
                                ? 1055.05585262e-6 / (0.3048 * 0.3048 * 0.3048)
                                : 0.0;
    if (per_unit == 0.0)
        return field.wrong(fmt::format("\"{}\" is no unit of this value.", unit.substr(0, 40)),
                           "give MJ/m3, kWh/m3 or Btu/ft3, real gas, gross");
    double const usual_c = unit.starts_with("Btu") ? 15.55 : 15.0;
    GW_TRY(auto const value, field.at("value"));
    GW_TRY(double const number, value.number());
    out.mj_per_m3 = number * per_unit;
    if (out.mj_per_m3 < 1 || out.mj_per_m3 > 200)
        return value.wrong("This is no calorific value of a natural gas.",
                           "correct the value or its unit");
    GW_TRY(double const combustion_c, field.number_or("combustion_c", usual_c));
    GW_TRY(double const metering_c, field.number_or("metering_c", usual_c));
    auto const combustion = gas::combustion_temperature(combustion_c);
    if (!combustion) return field.wrong(combustion.error().what, combustion.error().mend);
    auto const metering = gas::metering_temperature(metering_c);
    if (!metering) return field.wrong(metering.error().what, metering.error().mend);
    out.at.combustion = *combustion;
    out.at.metering = *metering;
    if (auto const pressure = field.find("pressure_kpa")) {
        GW_TRY(double const p, pressure->number_within(90, 110));
        out.at.pressure = kilopascal(p);
    }
    return out;
}

/// One line of the certificate, in its own unit.
struct PrintedAmount {
    std::string key;
    gas::Component component;
    std::optional<double> value, u;  ///< u: expanded uncertainty over its k
};

Result<PrintedAmount> read_amount(std::string const& key, Field const& field) {
    GW_TRY(auto const component, gas::require_component(key, field.where()));
    PrintedAmount out{key, component, std::nullopt, std::nullopt};
    if (!field.is_object()) {
        GW_TRY(out.value, field.number());
        return out;
    }
    GW_TRY(out.value, field.optional_number("value"));
    auto const expanded = field.find("expanded_uncertainty");
    if (!expanded) return out;
    GW_TRY(double const U, expanded->number());
    if (U < 0) return expanded->wrong("An uncertainty is never negative.", "correct it");
    double k = 2;
    if (auto const stated_k = field.find("k")) {
        GW_TRY(k, stated_k->number_within(0.5, 10));
    }
    out.u = U / k;
    return out;
}

Result<std::vector<PrintedAmount>> read_amounts(Field const& certificate) {
    GW_TRY(auto const components, certificate.at("components"));
    GW_TRY(auto const members, components.members());
    std::vector<PrintedAmount> out;
    for (auto const& member : members) {
        GW_TRY(auto amount, read_amount(member.first, member.second));
        out.push_back(std::move(amount));
    }
    return out;
}

/// Fills in a balance component printed without value: a hundred percent less the others.
Result<std::optional<gas::Component>> settle_balance(Field const& certificate,
                                                     std::vector<PrintedAmount>& amounts,
                                                     Cylinder& cylinder) {
    auto const field = certificate.find("balance");
    std::optional<gas::Component> balance;
    if (field) {
        GW_TRY(auto const text, field->text());
        GW_TRY(balance, gas::require_component(text, field->where()));
        auto const is_balance = [&](PrintedAmount const& a) { return a.component == *balance; };
        if (std::none_of(amounts.begin(), amounts.end(), is_balance))
            amounts.push_back(
                {std::string(gas::name(*balance)), *balance, std::nullopt, std::nullopt});
    }
    GW_TRY(auto const unit, certificate.text("unit"));
    double const whole = unit == "mol%" ? 100.0 : 1.0;
    for (auto& amount : amounts) {
        if (amount.value) continue;
        if (!balance || amount.component != *balance)
            return certificate.wrong(fmt::format("{} has no value.", amount.key),
                                     "add it, or name it as the balance");
        double others = 0.0;
        for (auto const& other : amounts) others += other.value.value_or(0.0);
        if (others > whole)
            return certificate.wrong("The other amounts leave nothing for the balance.",
                                     "correct the amounts or their unit");
        amount.value = whole - others;
        cylinder.balance_by_difference = true;
        cylinder.warnings.push_back(fmt::format(
            "{} is the balance: its amount is one minus the others.", gas::name(*balance)));
        break;
    }
    return balance;
}

/// The row of the balance becomes that of one minus the sum of the others.
void take_by_difference(SquareMatrix& V, std::size_t balance) {
    double variance = 0.0;
    for (std::size_t j = 0; j < V.size(); ++j) {
        if (j == balance) continue;
        double column = 0.0;
        for (std::size_t i = 0; i < V.size(); ++i)
            if (i != balance) column += V(i, j);
        V(balance, j) = V(j, balance) = -column;
        variance += column;
    }
    V(balance, balance) = std::max(variance, 0.0);
}

/// The certificate as the composition file it nearly is, so that one reader knows every way such a
/// list can be wrong. A covariance outranks the uncertainties beside it, which may be those before
/// the constraint; they are compared afterwards.
Json as_composition(Field const& certificate, std::vector<PrintedAmount> const& amounts) {
    Json out{{"unit", certificate.raw().at("unit")}};
    bool const full = certificate.find("covariance").has_value();
    auto& components = out["components"] = Json::object();
    for (auto const& amount : amounts) {
        auto& line = components[amount.key] = Json{{"value", *amount.value}};
        if (amount.u && !full) line["u"] = *amount.u;
    }
    for (auto const* key : {"component_order", "covariance", "characterisation"})
        if (auto const field = certificate.find(key)) out[key] = field->raw();
    return out;
}

void warn_of_uncertainties(std::vector<PrintedAmount> const& amounts,
                           double whole,
                           Cylinder& cylinder) {
    std::vector<std::string> without, differing;
    auto const u = standard_uncertainties(cylinder.printed.V);
    for (std::size_t i = 0; i < amounts.size() && i < u.size(); ++i) {
        if (u[i] == 0.0 && *amounts[i].value > 0.0) without.push_back(amounts[i].key);
        double const stated = amounts[i].u.value_or(0.0) / whole;
        if (stated > 0.0 && std::abs(u[i] - stated) > 0.1 * stated)
            differing.push_back(amounts[i].key);
    }
    switch (cylinder.uncertainty) {
        case CertificateUncertainty::none:
            cylinder.warnings.emplace_back("The certificate states no uncertainty.");
            return;
        case CertificateUncertainty::expanded:
            cylinder.warnings.emplace_back(
                "No covariance is stated: the stated uncertainties were taken through the "
                "constraint that "
                "amounts sum to one.");
            break;
        case CertificateUncertainty::covariance:
            if (!differing.empty())
                cylinder.warnings.push_back(
                    fmt::format("The covariance outranks the expanded uncertainty, from which it "
                                "differs for {}.",
                                joined(differing, ", ")));
            break;
    }
    if (!without.empty())
        cylinder.warnings.push_back(
            fmt::format("No uncertainty is stated for {}: taken as zero.", joined(without, ", ")));
}

Result<> read_certificate(Field const& certificate, Cylinder& cylinder) {
    GW_TRY(auto amounts, read_amounts(certificate));
    int decimals = 0;
    for (auto const& amount : amounts) {
        if (!amount.value) continue;
        decimals = std::max(decimals, decimals_of(*amount.value));
        ++cylinder.printed_amounts;
    }
    GW_TRY(auto const balance, settle_balance(certificate, amounts, cylinder));
    auto const composition = as_composition(certificate, amounts);
    GW_TRY(cylinder.printed, gas::read_composition(Field(composition, certificate.where())));
    double const whole = composition.at("unit") == "mol%" ? 100.0 : 1.0;
    cylinder.last_digit = std::pow(10.0, -decimals) / whole;

    double const total = cylinder.printed.total();
    if (!(total >= lowest_total && total <= highest_total))
        return fail(Errc::out_of_range,
                    fmt::format("The amounts add up to {:.6g} mol%, outside {} to {}.",
                                100 * total,
                                100 * lowest_total,
                                100 * highest_total),
                    certificate.where() + ".components",
                    "check for a missing component and the unit");

    auto& V = cylinder.printed.V;
    bool const full = certificate.find("covariance").has_value();
    if (V.empty()) {
        cylinder.uncertainty = CertificateUncertainty::none;
    } else {
        cylinder.uncertainty =
            full ? CertificateUncertainty::covariance : CertificateUncertainty::expanded;
        for (std::size_t i = 0; balance && i < V.size(); ++i)
            if (amounts[i].component == *balance && V(i, i) == 0.0 && !amounts[i].u)
                take_by_difference(V, i);
    }
    warn_of_uncertainties(amounts, whole, cylinder);
    return {};
}

}  // namespace

std::string_view name(CylinderRole role) {
    switch (role) {
        case CylinderRole::calibration:
            return "calibration";
        case CylinderRole::proving:
            return "proving";
    }
    return "calibration";
}

Result<Cylinder> read_cylinder(Field const& root) {
    GW_CHECK(require_schema(root, "cylinder"));
    Cylinder out;
    GW_TRY(out.serial, read_serial(root));
    GW_TRY(out.role, read_role(root));
    GW_TRY(out.certified, read_date(root, "certified"));
    GW_TRY(out.expires, read_date(root, "expires"));
    if (out.certified && out.expires && *out.expires < *out.certified)
        return root.at("expires")->wrong("The certificate expires before it was made.",
                                         "check both dates");
    GW_TRY(out.laboratory, root.text_or("laboratory", ""));
    GW_TRY(out.independent_of, read_texts(root, "independent_of"));
    GW_TRY(auto const certificate, root.at("certificate"));
    GW_CHECK(read_certificate(certificate, out));
    if (auto const stated = root.find("stated_calorific_value")) {
        GW_TRY(out.stated_calorific_value, read_stated_value(*stated));
    }
    GW_TRY(out.pressure, read_pressure(root, "pressure"));
    GW_TRY(out.minimum_pressure, read_pressure(root, "minimum_pressure"));
    GW_TRY(out.minimum_storage, read_temperature(root, "minimum_storage_c"));
    GW_TRY(out.coldest_recorded, read_temperature(root, "coldest_recorded_c"));
    if (auto const capacity = root.find("water_capacity_l")) {
        GW_TRY(out.water_capacity_l, capacity->number_within(0.001, 10000));
    }
    return out;
}

Result<std::optional<Pressure>> stated_pressure(Field const& root) {
    return read_pressure(root, "pressure");
}

gas::Composition certified_gas(Cylinder const& cylinder) {
    return gas::normalised(cylinder.printed);
}

Result<CertifiedCalorificValue> certified_calorific_value(Cylinder const& cylinder,
                                                          gas::Reference const& reference) {
    auto const gas = gas::expanded(certified_gas(cylinder), gas::default_characterisation());
    GW_TRY(auto const cv, gas::gross_cv_volume_gradient(gas, reference));
    CertifiedCalorificValue out{cv.value.value, std::nullopt};
    if (!gas.V.empty()) out.u = std::sqrt(quadratic_form(gas.V, cv.per_fraction));
    return out;
}

}  // namespace gw::assay
