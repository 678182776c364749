#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "oven/model.hpp"

namespace gw::oven {

Path const* Oven::path_of(std::vector<bool> const& setting) const {
    for (auto const& path : paths) {
        bool fits = true;
        for (std::size_t f = 0; f < flags.size(); ++f)
            if (path.when[f] && *path.when[f] != setting[f]) fits = false;
        if (fits) return &path;
    }
    return nullptr;
}

Action const* Oven::action(std::string const& name) const {
    auto const at = std::find_if(
        actions.begin(), actions.end(), [&](Action const& a) { return a.name == name; });
    return at == actions.end() ? nullptr : &*at;
}

bool Oven::injects(std::string const& action) const {
    return std::any_of(chains.begin(), chains.end(), [&](Chain const& c) {
        return c.injection && c.injection->on_action == action;
    });
}

namespace {

constexpr double most_plates = 1e6, fewest_plates = 10;  // what a packed column can be

std::string in_quotes(std::string const& name) { return "\"" + name.substr(0, 40) + "\""; }

template <class Things>
std::optional<std::size_t> named(Things const& things, std::string const& id) {
    for (std::size_t i = 0; i < things.size(); ++i)
        if (things[i].id == id) return i;
    return std::nullopt;
}

/// A number above zero, and no larger than what is sensible.
Result<double> positive(Field const& of, std::string_view key, double most) {
    GW_TRY(auto const field, of.at(key));
    GW_TRY(double const value, field.number());
    if (value > 0 && value <= most) return value;
    return field.wrong(fmt::format("{} is no value for this: it must be above 0 and at most {}.",
                                   shortest(value),
                                   shortest(most)),
                       "correct it");
}

Result<double> positive_or(Field const& of, std::string_view key, double most, double otherwise) {
    if (!of.find(key)) return otherwise;
    return positive(of, key, most);
}

Result<double> not_negative(Field const& of, std::string_view key, double most, double otherwise) {
    auto const field = of.find(key);
    if (!field) return otherwise;
    return field->number_within(0, most);
}

/// A name, written as text or as a number.
Result<std::string> id_of(Field const& field) {
    if (field.is_number()) {
        GW_TRY(double const number, field.number());
        return shortest(number);
    }
    GW_TRY(auto const text, field.text());
    if (text.empty()) return field.wrong("A name cannot be empty.", "write it");
    return text;
}

Result<Column> read_column(Field const& field, bool computed) {
    Column c;
    GW_TRY(auto const id, field.at("id"));
    GW_TRY(c.id, id_of(id));
    if (computed) {
        GW_TRY(c.length_m, positive(field, "length_m", 1000));
        GW_TRY(double const bore, positive(field, "inner_diameter_mm", 1000));
        GW_TRY(double const particle, positive(field, "particle_um", 1e5));
        c.inner_diameter_m = bore * 1e-3;
        c.particle_m = particle * 1e-6;
        GW_TRY(c.holdup_s, positive_or(field, "holdup_s", 86400, 0));
    } else {
        GW_TRY(c.length_m, positive_or(field, "length_m", 1000, 0));
        GW_TRY(double const bore, positive_or(field, "inner_diameter_mm", 1000, 0));
        GW_TRY(double const particle, positive_or(field, "particle_um", 1e5, 0));
        c.inner_diameter_m = bore * 1e-3;
        c.particle_m = particle * 1e-6;
        GW_TRY(c.holdup_s, positive(field, "holdup_s", 86400));
    }
    GW_TRY(c.porosity, positive_or(field, "porosity", 1, c.porosity));
    GW_TRY(c.interparticle, positive_or(field, "interparticle_porosity", 0.95, c.interparticle));
    GW_TRY(auto const plates, field.at("plates"));
    GW_TRY(c.plates, plates.number_within(fewest_plates, most_plates));
    GW_TRY(double const diffusion, not_negative(field, "stored_diffusion_cm2_s", 100, 0));
    c.stored_diffusion_m2_s = diffusion * 1e-4;
    return c;
}

Result<Detector> read_detector(Field const& field) {
    Detector d;
    GW_TRY(d.unit, field.text_or("unit", "mV"));
    GW_TRY(d.cell_tau_s, not_negative(field, "cell_tau_s", 60, 0));
    GW_TRY(d.scale, positive(field, "scale_mV_s_per_molpct_at_RMR100", 1e12));
    GW_TRY(d.saturation, not_negative(field, "saturation_mV", 1e12, 0));
    GW_TRY(d.flicker, not_negative(field, "flicker_mV", 1e9, 0));
    GW_TRY(d.drift_per_s, field.number_or("drift_mV_per_s", 0));
    GW_TRY(d.kick, field.number_or("kick_mV", 0));
    GW_TRY(d.kick_decay_s, positive_or(field, "kick_decay_s", 60, d.kick_decay_s));
    if (auto const range = field.find("range_mV")) {
        GW_TRY(auto const ends, range->items());
        if (ends.size() != 2) return range->wrong("A range has two ends.", "write [low, high]");
        GW_TRY(d.low, ends[0].number());
        GW_TRY(d.high, ends[1].number());
        if (!(d.low < d.high)) return range->wrong("The range is upside down.", "swap its ends");
    }
    return d;
}

Result<Chain> read_chain(Field const& field, bool computed) {
    Chain chain;
    GW_TRY(auto const id, field.at("id"));
    GW_TRY(chain.id, id_of(id));
    if (auto const carrier = field.find("carrier")) {
        GW_TRY(chain.carrier.gas, carrier->text_or("gas", "He"));
        GW_TRY(double const eta, positive_or(*carrier, "viscosity_uPa_s", 1e4, 0));
        GW_TRY(double const in, positive_or(*carrier, "inlet_bar_abs", 1e3, 0));
        GW_TRY(double const out, positive_or(*carrier, "outlet_bar_abs", 1e3, 0));
        chain.carrier.viscosity_pa_s = eta * 1e-6;
        chain.carrier.inlet_pa = in * 1e5;
        chain.carrier.outlet_pa = out * 1e5;
        if (in > 0 && out > 0 && !(in > out))
            return carrier->wrong(
                "The carrier does not flow: its inlet pressure is not above its "
                "outlet pressure.",
                "correct inlet_bar_abs or outlet_bar_abs");
    }
    if (computed && !(chain.carrier.inlet_pa > 0 && chain.carrier.outlet_pa > 0))
        return field.wrong(
            fmt::format("Chain {} has no pressures to compute its flow from.", in_quotes(chain.id)),
            "give carrier.inlet_bar_abs and carrier.outlet_bar_abs, or flow \"stated\"");
    if (auto const injection = field.find("injection")) {
        Injection in;
        GW_TRY(in.on_action, injection->text("on_action"));
        GW_TRY(in.pulse_s, positive(*injection, "pulse_s", 600));
        GW_TRY(in.loop_tau_s, not_negative(*injection, "loop_tau_s", 600, 0));
        chain.injection = in;
    }
    return chain;
}

/// Which chains share a detector: by `id` inside the object, by naming another chain, by having
/// none where only one exists, or, when the peaks know of fewer detectors than there are equal
/// objects, by being equal.
Result<> read_detectors(std::vector<Field> const& chains, assay::Method const& method, Oven& oven) {
    std::vector<std::string> ids;
    std::vector<Json> texts;
    std::vector<std::size_t> waiting;
    for (std::size_t c = 0; c < chains.size(); ++c) {
        auto const field = chains[c].find("detector");
        if (!field || !field->is_object()) {
            waiting.push_back(c);
            continue;
        }
        std::string id;
        for (char const* key : {"id", "number"})
            if (auto const given = field->find(key)) {
                GW_TRY(id, id_of(*given));
            }
        auto const same = [&]() -> std::optional<std::size_t> {
            for (std::size_t d = 0; d < ids.size(); ++d) {
                if (!id.empty() && ids[d] == id) return d;
                if (id.empty() && ids[d].empty() && texts[d] == field->raw() &&
                    method.detectors() <= static_cast<int>(oven.detectors.size()))
                    return d;
            }
            return std::nullopt;
        }();
        if (same) {
            oven.chains[c].detector = *same;
            continue;
        }
        GW_TRY(auto const detector, read_detector(*field));
        oven.chains[c].detector = oven.detectors.size();
        oven.detectors.push_back(detector);
        ids.push_back(id);
        texts.push_back(field->raw());
    }
    for (auto const c : waiting) {
        auto const field = chains[c].find("detector");
        if (!field) {
            if (oven.detectors.size() == 1) oven.chains[c].detector = 0;
            continue;  // it may only go to vent; the paths are checked below
        }
        GW_TRY(auto const id, id_of(*field));
        auto const by_id = std::find(ids.begin(), ids.end(), id);
        auto const chain = named(oven.chains, id);
        if (by_id != ids.end())
            oven.chains[c].detector = static_cast<std::size_t>(by_id - ids.begin());
        else if (chain && oven.chains[*chain].detector)
            oven.chains[c].detector = oven.chains[*chain].detector;
        else
            return field->wrong(fmt::format("There is no detector {}.", in_quotes(id)),
                                "name a chain that has one, or describe it here");
    }
    return {};
}

/// Where the file states no enthalpy: -dH rises with retention on one phase as ln k does (kJ/mol).
/// Line through the values at 353 K of propane (k 1.045, 17.5) and n-pentane (k 5, 24.5) on
/// silicone; heats of vaporisation less about 2 kJ/mol, from memory. At least 4.
double usual_enthalpy(double k) {
    if (!(k > 0)) return 0;
    return -1e3 * std::max(17.5 + 7.0 * std::log(k / 1.045) / std::log(5 / 1.045), 4.0);
}

Result<Species> read_species(Field const& field, Oven const& oven, assay::Method const& method) {
    Species s;
    GW_TRY(auto const name, field.at("component"));
    GW_TRY(auto const text, name.text());
    GW_TRY(s.component, gas::require_component(text, name.where()));
    auto const* peak = method.peak_of(s.component);
    s.reported_as = peak != nullptr ? peak->component : s.component;
    GW_TRY(auto const factors, field.at("retention_factor"));
    auto const enthalpies = field.find("enthalpy_kj_mol");
    for (auto const& column : oven.columns) {
        GW_TRY(auto const k, factors.at(column.id));
        GW_TRY(double const value, k.number_within(0, 1e7));
        s.k.push_back(value);
        double enthalpy = usual_enthalpy(value);
        if (enthalpies)
            if (auto const given = enthalpies->find(column.id)) {
                GW_TRY(double const kj, given->number_within(-200, 0));
                enthalpy = kj * 1e3;
            }
        s.enthalpy_j_mol.push_back(enthalpy);
    }
    GW_TRY(auto const members, factors.members());
    for (auto const& [id, member] : members)
        if (!named(oven.columns, id))
            return member.wrong(fmt::format("There is no column {}.", in_quotes(id)),
                                "correct the name or describe the column");
    GW_TRY(auto const response, field.at("relative_molar_response"));
    GW_TRY(s.response, response.number_within(-1e4, 1e4));
    if (s.response == 0)
        return response.wrong("A response of zero is never seen.", "give it, benzene = 100");
    return s;
}

Result<std::size_t> flag_of(Oven& oven, std::string const& name, bool may_be_new, Field const& at) {
    auto const found = std::find(oven.flags.begin(), oven.flags.end(), name);
    if (found != oven.flags.end()) return static_cast<std::size_t>(found - oven.flags.begin());
    if (!may_be_new)
        return at.wrong(fmt::format("No action sets the flag {}.", in_quotes(name)),
                        "correct its name or let an action set it");
    oven.flags.push_back(name);
    return oven.flags.size() - 1;
}

Result<> read_actions(Field const& field, Oven& oven) {
    GW_TRY(auto const members, field.members());
    for (auto const& [name, sets] : members) {
        Action action;
        action.name = name;
        GW_TRY(auto const flags, sets.members());
        for (auto const& [flag, value] : flags) {
            GW_TRY(auto const index, flag_of(oven, flag, true, value));
            GW_TRY(bool const on, value.boolean());
            action.sets.emplace_back(index, on);
        }
        oven.actions.push_back(std::move(action));
    }
    return {};
}

Result<ChainPath> read_chain_path(Field const& field, Oven const& oven) {
    ChainPath path;
    GW_TRY(auto const columns, field.at("columns"));
    GW_TRY(auto const items, columns.items());
    for (auto const& item : items) {
        Passage passage;
        GW_TRY(auto const name, item.at("column"));
        GW_TRY(auto const id, id_of(name));
        auto const column = named(oven.columns, id);
        if (!column)
            return name.wrong(fmt::format("There is no column {}.", in_quotes(id)),
                              "correct the name or describe the column");
        passage.column = *column;
        GW_TRY(auto const direction, item.text_or("direction", "forward"));
        if (direction != "forward" && direction != "backward")
            return item.wrong(fmt::format("{} is no direction.", in_quotes(direction)),
                              "write \"forward\" or \"backward\"");
        passage.backward = direction == "backward";
        GW_TRY(passage.holdup_factor, positive_or(item, "holdup_factor", 1000, 1));
        path.passages.push_back(passage);
    }
    GW_TRY(auto const to, field.text_or("to", "detector"));
    if (to != "detector" && to != "vent")
        return field.wrong(fmt::format("A path cannot end at {}.", in_quotes(to)),
                           "write \"detector\" or \"vent\"");
    path.to_detector = to == "detector";
    return path;
}

Result<> read_paths(Field const& field, Oven& oven) {
    GW_TRY(auto const items, field.items());
    std::vector<bool> passed(oven.columns.size());
    for (auto const& item : items) {
        Path path;
        path.when.resize(oven.flags.size());
        path.chains.resize(oven.chains.size());
        if (auto const when = item.find("when")) {
            GW_TRY(auto const flags, when->members());
            for (auto const& [flag, value] : flags) {
                GW_TRY(bool const on, value.boolean());
                // A flag that nothing sets stays false for ever: "false" says nothing, and a path
                // that wants it true is a misspelling.
                auto const known = std::find(oven.flags.begin(), oven.flags.end(), flag);
                if (known == oven.flags.end() && !on) continue;
                GW_TRY(auto const index, flag_of(oven, flag, false, value));
                path.when[index] = on;
            }
        }
        GW_TRY(auto const chains, item.at("chains"));
        GW_TRY(auto const members, chains.members());
        std::vector<bool> used(oven.columns.size());
        for (auto const& [id, chain] : members) {
            auto const index = named(oven.chains, id);
            if (!index)
                return chain.wrong(fmt::format("There is no chain {}.", in_quotes(id)),
                                   "correct its name");
            GW_TRY(auto const way, read_chain_path(chain, oven));
            for (auto const& passage : way.passages) {
                if (used[passage.column])
                    return chain.wrong(fmt::format("Column {} is passed twice at the same time.",
                                                   in_quotes(oven.columns[passage.column].id)),
                                       "a column belongs to one chain, once, in each path");
                used[passage.column] = passed[passage.column] = true;
            }
            if (way.to_detector && !oven.chains[*index].detector)
                return chain.wrong(
                    fmt::format("Chain {} has no detector to end at.", in_quotes(id)),
                    "describe it in chains, or end at \"vent\"");
            path.chains[*index] = way;
        }
        oven.paths.push_back(std::move(path));
    }
    for (std::size_t c = 0; c < passed.size(); ++c)
        if (!passed[c])
            return field.wrong(fmt::format("Column {} cannot be reached: no path passes it.",
                                           in_quotes(oven.columns[c].id)),
                               "add it to a path or leave it out of columns");
    return {};
}

std::string setting_text(Oven const& oven, std::vector<bool> const& setting) {
    std::vector<std::string> parts;
    for (std::size_t f = 0; f < setting.size(); ++f)
        parts.push_back(oven.flags[f] + (setting[f] ? " true" : " false"));
    return joined(parts, ", ");
}

Result<> check_programme(Field const& root, Field const& field, Oven const& oven) {
    auto const programme = root.find("valve_programme");
    if (!programme || oven.programme.empty())
        return root.wrong("The twin needs a valve_programme: without it nothing is injected.",
                          "add the events");
    GW_TRY(auto const events, programme->items());
    std::vector<bool> setting(oven.flags.size());
    for (std::size_t e = 0; e < oven.programme.size(); ++e) {
        auto const& event = oven.programme[e];
        auto const* action = oven.action(event.action);
        if (action == nullptr && !oven.injects(event.action))
            return events[e].wrong(
                fmt::format("There is no action {} in oven.actions.", in_quotes(event.action)),
                "correct its name or describe it there");
        if (action != nullptr)
            for (auto const& set : action->sets) setting[set.first] = set.second;
        double const until =
            e + 1 < oven.programme.size() ? oven.programme[e + 1].at_s : oven.cycle_s;
        if (until > event.at_s && oven.path_of(setting) == nullptr)
            return field.wrong(fmt::format("After {} at {} s no path fits: {}.",
                                           in_quotes(event.action),
                                           shortest(event.at_s),
                                           setting_text(oven, setting)),
                               "add that setting to paths");
    }
    for (auto const& chain : oven.chains)
        if (chain.injection &&
            std::none_of(oven.programme.begin(), oven.programme.end(), [&](Event const& e) {
                return e.action == chain.injection->on_action;
            }))
            return field.wrong(fmt::format("Chain {} is never injected: no event is called {}.",
                                           in_quotes(chain.id),
                                           in_quotes(chain.injection->on_action)),
                               "correct injection.on_action or add the event");
    return {};
}

/// A column that is ever left out of the path needs its length: storage spreads in centimetres.
Result<> check_stored(Field const& field, Oven const& oven) {
    for (std::size_t c = 0; c < oven.columns.size(); ++c) {
        if (oven.columns[c].stored_diffusion_m2_s == 0 || oven.columns[c].length_m > 0) continue;
        return field.wrong(fmt::format("Column {} states a diffusion while stored but no length.",
                                       in_quotes(oven.columns[c].id)),
                           "give length_m");
    }
    return {};
}

}  // namespace

Result<Oven> read_oven(Field const& root, assay::Method const& method) {
    auto const block = root.find("oven");
    if (!block)
        return root.wrong("This method has no oven block for the twin to run on.",
                          "describe columns, chains, actions and paths under \"oven\"");
    Oven oven;
    oven.cycle_s = method.cycle_s;
    oven.rate_hz = method.sample_rate_hz;
    if (!(oven.rate_hz > 0 && oven.rate_hz <= 1e4))
        return root.wrong("The twin needs sample_rate_hz.", "give it, above 0 and at most 10000");
    if (oven.rate_hz * oven.cycle_s > 2e7)
        return root.wrong("The run would have more than 20 million samples.",
                          "lower sample_rate_hz or cycle_s");
    for (auto const& event : method.valve_programme)
        oven.programme.push_back({event.at_s, event.action});
    GW_TRY(double const temperature, block->number_or("temperature_c", 80));
    if (!(temperature > -100 && temperature < 450))
        return block->wrong(fmt::format("{} degC is no oven temperature.", shortest(temperature)),
                            "correct temperature_c");
    oven.temperature_k = temperature + 273.15;
    GW_TRY(auto const flow, block->text_or("flow", "stated"));
    if (flow != "stated" && flow != "computed")
        return block->wrong(fmt::format("{} is no kind of flow.", in_quotes(flow)),
                            "write \"stated\" or \"computed\"");
    oven.computed_flow = flow == "computed";

    GW_TRY(auto const columns, block->at("columns"));
    GW_TRY(auto const column_items, columns.items());
    for (auto const& item : column_items) {
        GW_TRY(auto const column, read_column(item, oven.computed_flow));
        if (named(oven.columns, column.id))
            return item.wrong(fmt::format("There are two columns {}.", in_quotes(column.id)),
                              "give each its own id");
        oven.columns.push_back(column);
    }
    if (oven.columns.empty()) return columns.wrong("An oven needs a column.", "describe it");
    GW_CHECK(check_stored(columns, oven));

    GW_TRY(auto const chains, block->at("chains"));
    GW_TRY(auto const chain_items, chains.items());
    for (auto const& item : chain_items) {
        GW_TRY(auto const chain, read_chain(item, oven.computed_flow));
        if (named(oven.chains, chain.id))
            return item.wrong(fmt::format("There are two chains {}.", in_quotes(chain.id)),
                              "give each its own id");
        oven.chains.push_back(chain);
    }
    if (oven.chains.empty()) return chains.wrong("An oven needs a chain.", "describe it");
    if (std::none_of(oven.chains.begin(), oven.chains.end(), [](Chain const& c) {
            return c.injection.has_value();
        }))
        return chains.wrong("No chain injects anything.", "give one an injection");
    GW_CHECK(read_detectors(chain_items, method, oven));
    if (oven.detectors.empty())
        return chains.wrong("No chain has a detector.", "describe one under detector");

    GW_TRY(auto const components, block->at("components"));
    GW_TRY(auto const component_items, components.items());
    for (auto const& item : component_items) {
        GW_TRY(auto const species, read_species(item, oven, method));
        for (auto const& other : oven.species)
            if (other.component == species.component)
                return item.wrong(
                    fmt::format("{} stands here twice.", gas::name(species.component)), "keep one");
        oven.species.push_back(species);
    }
    if (oven.species.empty())
        return components.wrong("The twin needs a component.", "describe its retention");

    GW_TRY(auto const actions, block->at("actions"));
    GW_CHECK(read_actions(actions, oven));
    GW_TRY(auto const paths, block->at("paths"));
    GW_CHECK(read_paths(paths, oven));
    GW_CHECK(check_programme(root, paths, oven));
    return oven;
}

}  // namespace gw::oven
