#pragma once
/// The use-case behind `gaswright assay replay`: very many runs through one method and one
/// calibration, into a table.
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "desk/assay.hpp"

namespace gw::desk {

struct ReplayProgress {
    std::size_t done{}, total{};
    double elapsed_s{}, rate{};  ///< s since this session began; runs/s of it
};

struct ReplayRequest {
    std::string runs;  ///< folder, list or archive
    AssayRequest assay;
    std::string output;
    unsigned threads = 0;            ///< 0: all cores; the table does not depend on it
    bool every_run_careful = false;  ///< no run is followed from the one before
    std::function<void(ReplayProgress const&)> progress;  ///< called after each block; may be empty
};

struct Replay {
    std::string output;
    std::size_t runs{}, failed{}, resumed{};  ///< failed: rows with a reason in place of figures
    std::size_t followed{}, careful{};        ///< detector signals of this session
    double elapsed_s{};
    std::vector<std::string> warnings;
};

/// One row a run, in their order, written beside `output` as .part and renamed at the end. Where a
/// .part of the same runs, method, calibration and options stands, goes on from it; refuses
/// (conflict) when any of these changed. A run that cannot be read or valued becomes a row with
/// the reason.
Result<Replay> replay(ReplayRequest const& request);
Json replay_json(Replay const& replay);
std::string replay_text(Replay const& replay);

}  // namespace gw::desk
