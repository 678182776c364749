#pragma once
/// The findings of a visit, made anew from what is kept of it, by the engines of the folders below.
#include <deque>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "metrology/finding.hpp"
#include "store/store.hpp"
#include "visit/prove.hpp"
#include "visit/visit_state.hpp"

namespace gw::desk {

/// One run, judged by itself.
struct JudgedRun {
    std::string sha256, gas, stream, basis;  ///< of the evidence; "calibration"; "1"; "as_found"
    double cv{};                             ///< in `cv_unit`
    std::string cv_unit;
    std::optional<double> total;  ///< unnormalised, mol/mol
    metrology::Finding finding;
};

/// One state of the analyser as it was judged, with what went into it.
struct JudgedState {
    visit::ProofInputs inputs;
    visit::Proof proof;
};

struct VisitFindings {
    std::vector<metrology::Finding> findings;
    std::vector<JudgedRun> runs;        ///< those on whose gas something could be judged
    std::vector<std::string> warnings;  ///< what could not be made of the evidence, and why
    metrology::CriteriaSet criteria;
    std::map<std::string, JudgedState> judged;  ///< "as_found", "as_left"
};

/// Peaks of runs under a method, kept between two makings: of a whole visit they take a second or
/// two, all else a tenth of it. By the SHA-256 of both files. May be used from any thread.
class RunCache {
  public:
    explicit RunCache(std::size_t most = 400) : most_(most) {}  // a run's peaks are some 10 kB
    [[nodiscard]] std::optional<visit::ProofRun> find(std::string const& key) const;
    void put(std::string const& key, visit::ProofRun const& run);

  private:
    mutable std::mutex guard_;
    std::size_t most_;
    std::map<std::string, visit::ProofRun> runs_;
    std::deque<std::string> order_;
};

/// As found and as left: the proof's findings; of each certificate: the check of its cylinder on
/// the day it was entered; of the settling series: "settled"; of readings that a step feeds to a
/// finding: that finding ("leak_rate", "rings_balance"); of the declared capabilities:
/// "compatibility". Each names the SHA-256 of its inputs. What was run before the analyser had
/// settled and its factors were accepted is provisional.
/// cache: what was made of runs before; none: all are read anew. The answer is the same.
VisitFindings visit_findings(visit::VisitState const& visit,
                             store::Store const& store,
                             RunCache* cache = nullptr);

}  // namespace gw::desk
