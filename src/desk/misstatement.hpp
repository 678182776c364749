#pragma once
/// The use-case behind `gaswright bench misstatement`.
#include <optional>
#include <string>
#include <vector>

#include "bench/misstatement.hpp"
#include "trace/series_table.hpp"

namespace gw::desk {

struct MisstatementRequest {
    /// CSV with time or time_s (start of each stretch), volume_m3 and, unless `cv` is given, cv
    /// (MJ/m3). Without a file: a steady flow.
    std::optional<std::string> volumes;
    std::optional<double> flow_m3_per_day, cv_mj_m3;
    double error_percent{}, error_u_percent = 0, volume_u_percent = 0;
    std::vector<std::string> causes;  ///< "name=percent" or "name=percent:u"
    /// Moments as the volumes write time, or instants; with a steady flow also days as numbers.
    std::optional<std::string> onset, onset_from, onset_to, last_good, found;
    std::optional<double> cap_days;
    bool ramp = false;
    std::optional<double> price_per_mwh;
    std::string currency;
};

struct MisstatementAnswer {
    bench::MisstatementInputs inputs;
    bench::Misstatement result;
    std::string from, to;  ///< as the user writes time
    std::string currency;
};
Result<MisstatementAnswer> misstatement(MisstatementRequest const& request);
Json misstatement_json(MisstatementAnswer const& answer);
std::string misstatement_text(MisstatementAnswer const& answer);

}  // namespace gw::desk
