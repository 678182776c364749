#include "desk/cylinder_pressure.hpp"

#include <fmt/format.h>

#include <cctype>
#include <nlohmann/json.hpp>

#include "assay/cylinder.hpp"
#include "base/base.hpp"
#include "desk/load.hpp"
#include "visit/unit.hpp"

namespace gw::desk {

namespace {

constexpr char const* name_begins = "pressure_";
constexpr double coldest_c = -100, hottest_c = 100;  // as in a cylinder file

}  // namespace

Result<Json> pressure_file(std::string const& serial, TypedPressure const& typed, Instant at) {
    Json out{{"schema", "gaswright.cylinder-pressure/1"},
             {"serial", serial},
             {"at", to_text(at)},
             {"typed", {{"value", typed.value}, {"unit", typed.unit}}}};
    auto const absolute = visit::converted(typed.value, typed.unit, "kPa");
    auto const gauge = visit::converted(typed.value, typed.unit, "kPa gauge");
    if (absolute)
        out["pressure_kpa"] = *absolute;
    else if (gauge)
        out["pressure_gauge_kpa"] = *gauge;
    else
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is no unit of a pressure.", typed.unit.substr(0, 40)),
                    "unit",
                    "give for example kPa, bar or psi, with gauge behind it for a gauge reading");
    if (typed.ambient) {
        auto const ambient = visit::converted(*typed.ambient, typed.ambient_unit, "kPa");
        if (!ambient)
            return fail(Errc::bad_input,
                        fmt::format("\"{}\" is no unit of absolute pressure.",
                                    typed.ambient_unit.substr(0, 40)),
                        "ambient_unit",
                        "give kPa, mbar, hPa or psi");
        out["ambient_kpa"] = *ambient;
    }
    if (typed.temperature_c) {
        if (!(*typed.temperature_c >= coldest_c && *typed.temperature_c <= hottest_c))
            return fail(Errc::out_of_range,
                        fmt::format("{} degC is no place for a cylinder.", *typed.temperature_c),
                        "temperature_c",
                        "give it from -100 to 100 degC");
        out["temperature_c"] = *typed.temperature_c;
    }
    if (!typed.with.empty()) out["with"] = typed.with;
    // Read back by the rule that cylinder files are read by: range, and a gauge needs the air.
    auto const read = assay::stated_pressure(Field(out, "pressure"));
    if (!read) return pass_on(read.error());
    return out;
}

Result<KeptPressure> read_pressure_file(std::string_view bytes, std::string const& source) {
    GW_TRY(auto const document, parse_json(bytes, source));
    auto const root = document.root();
    GW_CHECK(require_schema(root, "cylinder-pressure"));
    KeptPressure out;
    GW_TRY(out.serial, root.text("serial"));
    GW_TRY(auto const pressure, assay::stated_pressure(root));
    if (!pressure) return root.wrong("It states no pressure.", "give pressure_kpa");
    out.pressure = *pressure;
    GW_TRY(auto const at, root.text("at"));
    GW_TRY(out.at, parse_instant(at, source + ".at"));
    if (auto const field = root.find("temperature_c")) {
        GW_TRY(double const temperature, field->number_within(coldest_c, hottest_c));
        out.temperature = celsius(temperature);
    }
    GW_TRY(auto const typed, root.at("typed"));
    GW_TRY(auto const value, typed.at("value"));
    GW_TRY(double const number, value.number());
    GW_TRY(auto const unit, typed.text("unit"));
    out.typed = shortest(number) + " " + unit;
    out.sha256 = sha256(bytes);
    return out;
}

std::optional<KeptPressure> newest_pressure(visit::VisitState const& visit,
                                            store::Store const& store,
                                            std::string const& serial) {
    std::optional<KeptPressure> out;
    for (auto const& stage : visit.stages)
        for (auto const& step : stage.steps)
            for (auto const& evidence : step.evidence) {
                if (evidence.standing != visit::Standing::aside || evidence.sha256.empty() ||
                    !may_be_pressure_file(evidence.file))
                    continue;
                auto const bytes = store.evidence(evidence.sha256);
                if (!bytes) continue;
                // A photograph may carry such a name: what is none is passed over.
                auto reading = read_pressure_file(*bytes, evidence.file);
                if (!reading || reading->serial != serial) continue;
                if (!out || reading->at.milliseconds >= out->at.milliseconds)
                    out = *std::move(reading);
            }
    return out;
}

std::string pressure_file_name(std::string const& serial) {
    auto plain = serial;
    for (char& c : plain)
        if (std::isalnum(static_cast<unsigned char>(c)) == 0 && c != '-') c = '_';
    return name_begins + plain + ".json";
}

bool may_be_pressure_file(std::string_view name) {
    return name.starts_with(name_begins) && name.ends_with(".json");
}

Result<visit::ThingLine> put_pressure(store::Store& store,
                                      std::string const& serial,
                                      TypedPressure const& typed,
                                      visit::Act const& act,
                                      std::string const& sha256) {
    GW_TRY(auto const file, pressure_file(serial, typed, act.at ? *act.at : act.now));
    GW_TRY(auto const pressure, assay::stated_pressure(Field(file, "pressure")));
    PressureReading reading;
    reading.serial = serial;
    reading.pressure_kpa = in_kilopascal(*pressure);
    reading.ambient_c = typed.temperature_c;
    reading.with = typed.with;
    reading.sha256 = sha256;
    return read_cylinder_pressure(store, reading, act);
}

Result<Recorded> put_pressure_in_visit(store::Store& store,
                                       std::string const& id,
                                       std::string const& stage,
                                       std::string const& step,
                                       TypedPressure const& typed,
                                       visit::Act const& act) {
    std::string serial;
    {
        GW_TRY(auto const loaded, load_visit(store, id));
        auto const* view = loaded.state.find(step);
        auto const* stands = view == nullptr ? nullptr : view->current();
        if (stands == nullptr || stands->sha256.empty() ||
            (view->step->role != "calibration_cylinder" && view->step->role != "proving_cylinder"))
            return fail(Errc::not_found,
                        fmt::format("\"{}\" keeps no certificate.", step.substr(0, 60)),
                        "step",
                        "hand the certificate in first");
        GW_TRY(auto const bytes, store.evidence(stands->sha256));
        GW_TRY(auto const cylinder, cylinder_of(bytes, stands->file));
        serial = cylinder.serial;
    }
    GW_TRY(auto const file, pressure_file(serial, typed, act.at ? *act.at : act.now));
    VisitAdd add;
    add.request.stage = stage;
    add.request.step = step;
    add.request.aside = true;
    add.request.note = fmt::format(
        "Pressure of {}: {} {}{}",
        serial,
        shortest(typed.value),
        typed.unit,
        typed.ambient
            ? fmt::format(", the air at {} {}", shortest(*typed.ambient), typed.ambient_unit)
            : "");
    add.file_path = pressure_file_name(serial);
    add.bytes = to_text(file);
    GW_TRY(auto done, add_to_visit(store, id, add, act));
    // What the record knows of the cylinder itself moves too; a visit alone asks for no thing.
    GW_TRY(auto const known, store.thing("cylinder:" + serial));
    if (known)
        GW_CHECK(
            put_pressure(store, serial, typed, {act.who, act.now, act.at}, gw::sha256(*add.bytes)));
    return done;
}

}  // namespace gw::desk
