#pragma once
/// The use-cases behind `gaswright prove` and `gaswright look`: files in, findings out.
#include <optional>
#include <string>

#include "desk/load.hpp"
#include "visit/visit.hpp"

namespace gw::desk {

/// Reads a `proof` file and everything it names (paths relative to it), and judges it as of `on`.
Result<visit::Proof> prove(std::string const& path, Date on);

/// "standard", "combustion_c", "metering_c" and "pressure_kpa" of an object; absent: ISO 6976 at 15
/// degC, 15 degC and 101.325 kPa.
Result<gas::Reference> reference_of(Field const& root, std::vector<std::string>& warnings);

/// A run that was read, as a proof takes it; a trace needs the method.
Result<visit::ProofRun> proof_run(Run run,
                                  std::string const& source,
                                  std::optional<assay::Method> const& method);

struct LookRequest {
    std::string report;
    std::optional<std::string> cylinder;
    std::string criteria = "custody";
    Date on;
};
Result<visit::Look> look(LookRequest const& request);

/// The same from texts, as the page sends them; `source` and `cylinder` stand in messages.
struct LookTexts {
    std::string report;
    std::optional<std::string> cylinder;
    std::string criteria = "custody";  ///< a shipped name: no file is read
    Date on;
};
Result<visit::Look> look_at(LookTexts const& texts);
/// Every line of a report that stops it from being read, not only the first: a line at fault is
/// taken out and the rest read again, at most `most` times. A fault of the whole is the last.
std::vector<Error> report_faults(std::string const& report, std::size_t most = 30);

}  // namespace gw::desk
