#pragma once
/// The pressure of a cylinder as it is read off a gauge: typed in any unit, gauge or absolute; kept
/// with the thing, and in a visit as evidence beside its certificate.
#include <optional>
#include <string>

#include "desk/thing.hpp"
#include "desk/visit.hpp"

namespace gw::desk {

struct TypedPressure {
    double value{};
    std::string unit;               ///< "kPa", "bar", "MPa", "psi"; gauge: "kPa gauge", "psig" ...
    std::optional<double> ambient;  ///< pressure of the air; a gauge reading needs it
    std::string ambient_unit = "kPa";     ///< absolute
    std::optional<double> temperature_c;  ///< where it stands
    std::string with;                     ///< serial of the gauge
};

/// A `cylinder-pressure` file: the reading as a cylinder file states pressures ("pressure_kpa", or
/// "pressure_gauge_kpa" with "ambient_kpa"), with serial, time, and what was typed.
Result<Json> pressure_file(std::string const& serial, TypedPressure const& typed, Instant at);

/// The reading of such a file.
struct KeptPressure {
    std::string serial;
    Pressure pressure;
    std::optional<Temperature> temperature;
    Instant at;
    std::string typed;   ///< "38 bar gauge"
    std::string sha256;  ///< of the file
};
Result<KeptPressure> read_pressure_file(std::string_view bytes, std::string const& source);
/// The newest pressure of that cylinder that was read on a visit and stands; none when there is
/// none.
std::optional<KeptPressure> newest_pressure(visit::VisitState const& visit,
                                            store::Store const& store,
                                            std::string const& serial);
/// How such a file is called; what of the evidence may be one.
std::string pressure_file_name(std::string const& serial);
bool may_be_pressure_file(std::string_view name);

/// Of a cylinder that is known: its pressure from now on, and one more reading. sha256: of the file
/// that a visit keeps of the same reading; "" for none.
Result<visit::ThingLine> put_pressure(store::Store& store,
                                      std::string const& serial,
                                      TypedPressure const& typed,
                                      visit::Act const& act,
                                      std::string const& sha256 = "");

/// Beside the step of a visit that keeps the cylinder's certificate: `pressure` is judged with it
/// from now on. Where the record knows the cylinder as a thing, it learns the reading too, and
/// forgets it when the visit's entry is taken back. Fails with not_found when that step keeps no
/// certificate.
Result<Recorded> put_pressure_in_visit(store::Store& store,
                                       std::string const& id,
                                       std::string const& stage,
                                       std::string const& step,
                                       TypedPressure const& typed,
                                       visit::Act const& act);

}  // namespace gw::desk
