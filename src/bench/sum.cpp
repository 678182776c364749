#include "bench/sum.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "bench/sums.hpp"

namespace gw::bench {

Measured SumInputs::of(std::string_view key, double otherwise) const {
    auto const at = values.find(key);
    return at == values.end() ? Measured{otherwise, 0} : at->second.si;
}
std::optional<Measured> SumInputs::optional(std::string_view key) const {
    auto const at = values.find(key);
    if (at == values.end()) return std::nullopt;
    return at->second.si;
}

void Sum::add(
    std::string key, std::string title, Measured si, Dimension dimension, std::string unit) {
    results.push_back({std::move(key), std::move(title), si, dimension, std::move(unit)});
}

void Sum::judge(std::string id,
                std::string title,
                std::optional<Measured> value,
                std::string unit,
                std::optional<double> low,
                std::optional<double> high,
                std::string source,
                std::string note) {
    metrology::Finding f;
    f.id = std::move(id);
    f.title = std::move(title);
    f.unit = unit;
    f.note = std::move(note);
    if (value) {
        f.value = value->value;
        f.u = value->u;
    }
    metrology::Criterion limit;
    limit.low = low;
    limit.high = high;
    limit.unit = std::move(unit);
    limit.source = std::move(source);
    metrology::judge(f, &limit);
    findings.push_back(std::move(f));
}

std::span<SumKind const> sum_kinds() {
    static std::vector<SumKind> const all = [] {
        std::vector<SumKind> out;
        for (auto const kinds : {flow_sums(), stock_sums(), plan_sums()})
            out.insert(out.end(), kinds.begin(), kinds.end());
        return out;
    }();
    return all;
}

SumKind const* find_sum(std::string_view name) {
    for (auto const& kind : sum_kinds())
        if (kind.name == name) return &kind;
    return nullptr;
}

namespace {

constexpr double usual_ambient = 101325;

Result<> keep_gas(std::string const& name,
                  std::string const& where,
                  SumField const& field,
                  GasLoader const& load,
                  SumInputs& out) {
    if (auto const component = gas::find_component(name)) {
        gas::Composition pure;
        pure.components = {*component};
        pure.x = {1.0};
        out.gases[std::string(field.key)] = {std::string(gas::name(*component)), pure};
        return {};
    }
    GW_TRY(auto gas, load(name, where));
    out.gases[std::string(field.key)] = {name, std::move(gas)};
    return {};
}

SumField const* find_field(std::span<SumField const> fields, std::string_view key) {
    for (auto const& field : fields)
        if (field.key == key) return &field;
    return nullptr;
}

Result<WrittenQuantity> quantity_of(Field const& place, SumField const& field) {
    if (place.is_text()) {
        GW_TRY(auto const text, place.text());
        return read_quantity(text, field.dimension, field.unit, place.where());
    }
    double value = 0, u = 0;
    std::string unit(field.unit);
    if (place.is_object()) {
        GW_TRY(value, place.number("value"));
        GW_TRY(u, place.number_or("u", 0));
        GW_TRY(unit, place.text_or("unit", unit));
    } else {
        GW_TRY(value, place.number());
    }
    return read_quantity(fmt::format("{} +- {} {}", shortest(value), shortest(u), unit),
                         field.dimension,
                         field.unit,
                         place.where());
}

std::string names(std::span<SumField const> fields) {
    std::vector<std::string> out;
    for (auto const& field : fields) out.emplace_back(field.key);
    return joined(out, ", ");
}

Result<> read_object(Field const& object,
                     std::span<SumField const> fields,
                     bool entry,
                     GasLoader const& load,
                     SumInputs& out) {
    GW_TRY(auto const members, object.members());
    for (auto const& [key, place] : members) {
        if (!entry && key == "schema") continue;
        if (entry && key == "name") {
            GW_TRY(out.name, place.text());
            continue;
        }
        auto const* field = find_field(fields, key);
        if (field == nullptr)
            return place.wrong(fmt::format("\"{}\" is no input of this sum.", key.substr(0, 40)),
                               "it takes " + names(fields));
        if (place.is_null()) continue;
        if (field->form == SumField::Form::list) {
            GW_TRY(auto const items, place.items());
            auto& list = out.lists[key];
            for (auto const& item : items) {
                SumInputs one;
                GW_CHECK(read_object(item, field->entries, true, load, one));
                if (one.name.empty()) one.name = fmt::format("{} {}", key, list.size() + 1);
                for (auto const& needed : field->entries)
                    if (needed.required && !one.has(needed.key))
                        return item.wrong(fmt::format("{} is missing.", needed.key), "add it");
                list.push_back(std::move(one));
            }
        } else if (field->form == SumField::Form::gas) {
            if (place.is_object()) {
                GW_TRY(auto gas, gas::read_composition(place));
                out.gases[key] = {"the composition given", std::move(gas)};
            } else {
                GW_TRY(auto const name, place.text());
                GW_CHECK(keep_gas(name, place.where(), *field, load, out));
            }
        } else {
            GW_TRY(auto quantity, quantity_of(place, *field));
            out.values[key] = std::move(quantity);
        }
    }
    return {};
}

std::string option_of(std::string_view key) {
    auto out = fmt::format("--{}", key);
    std::replace(out.begin(), out.end(), '_', '-');
    return out;
}

// Gauge pressures to absolute ones.
void lift(SumInputs& in, double ambient, bool& any) {
    for (auto& [key, value] : in.values)
        if (value.gauge) {
            value.si.value += ambient;
            value.gauge = false;
            any = true;
        }
    for (auto& [key, list] : in.lists)
        for (auto& one : list) lift(one, ambient, any);
}

}  // namespace

Result<SumInputs> read_sum_inputs(SumKind const& kind,
                                  std::optional<Field> const& file,
                                  std::vector<std::pair<std::string, std::string>> const& options,
                                  GasLoader const& load) {
    SumInputs out;
    if (file) {
        GW_CHECK(require_schema(*file, fmt::format("bench-{}", kind.name)));
        GW_CHECK(read_object(*file, kind.fields, false, load, out));
    }
    for (auto const& [key, text] : options) {
        auto const* field = find_field(kind.fields, key);
        auto const option = option_of(key);
        if (field == nullptr || field->form == SumField::Form::list)
            return fail(Errc::bad_input, "This is no input of the sum.", option);
        if (field->form == SumField::Form::gas) {
            GW_CHECK(keep_gas(text, option, *field, load, out));
            continue;
        }
        GW_TRY(auto quantity, read_quantity(text, field->dimension, field->unit, option));
        out.values[key] = std::move(quantity);
    }
    for (auto const& field : kind.fields) {
        bool const there = field.form == SumField::Form::gas    ? out.gases.contains(field.key)
                           : field.form == SumField::Form::list ? out.lists.contains(field.key)
                                                                : out.has(field.key);
        if (!field.required || there) continue;
        auto const option = option_of(field.key);
        return fail(Errc::bad_input,
                    fmt::format("The sum needs {}: {}.", field.key, field.help),
                    file ? file->where() + std::string(field.key) : option,
                    "add it");
    }
    if (auto const ambient = out.values.find("ambient");
        ambient != out.values.end() && ambient->second.gauge)
        return fail(Errc::bad_input,
                    "The pressure of the air is absolute.",
                    "--ambient",
                    "write kPa, bar or psi");
    bool any = false;
    lift(out, out.of("ambient", usual_ambient).value, any);
    if (any && !out.has("ambient"))
        out.warnings.emplace_back(
            "Gauge pressures are taken above 101.325 kPa: the pressure of the air is not stated.");
    return out;
}

Result<Sum> worked(SumKind const& kind, SumInputs const& in) {
    GW_TRY(auto sum, kind.work(in));
    for (auto const& r : sum.results)
        if (!std::isfinite(r.si.value) || !std::isfinite(r.si.u))
            return fail(
                Errc::out_of_range,
                fmt::format("No figure comes out for \"{}\": the inputs are beyond what can "
                            "be computed.",
                            r.title),
                r.key,
                "check their units");
    return sum;
}

bool favourable(Sum const& sum) {
    return std::all_of(sum.findings.begin(), sum.findings.end(), [](auto const& f) {
        return f.verdict == metrology::Verdict::meets;
    });
}

}  // namespace gw::bench
