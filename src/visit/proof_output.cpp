#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "visit/prove.hpp"

namespace gw::visit {

Json proof_json(Proof const& proof) {
    Json out = metrology::findings_json(proof.findings);
    Json runs = Json::array();
    for (auto const& line : proof.runs) {
        Json run{
            {"gas", line.gas},
            {"source", line.run.source},
            {"hash", line.run.hash},
            {"gross_cv_volume", line.run.cv},
            {"unnormalised_total", line.run.total ? Json(100 * *line.run.total) : Json(nullptr)}};
        if (!line.stream.empty()) run["stream"] = line.stream;
        Json mole_percent = Json::object();
        for (std::size_t i = 0; i < line.run.gas.components.size(); ++i)
            mole_percent[std::string(gas::name(line.run.gas.components[i]))] =
                100 * line.run.gas.x[i];
        run["mole_percent"] = std::move(mole_percent);
        if (line.run.printed_cv_difference) {
            run["recomputed_less_printed_cv_percent"] = *line.run.printed_cv_difference;
            Json differences = Json::object();
            for (auto const& [component, d] : line.run.printed_difference)
                differences[std::string(gas::name(component))] = d;
            run["recomputed_less_printed_mole_percent"] = std::move(differences);
        }
        runs.push_back(std::move(run));
    }
    out["cv_unit"] = proof.cv_unit;
    out["runs"] = std::move(runs);
    out["evidence"] = proof_evidence_json(proof.evidence);
    out["warnings"] = proof.warnings;
    return out;
}

std::string proof_text(Proof const& proof) {
    std::string out = metrology::findings_table(proof.findings);
    out += fmt::format("\nVerdict: {}\n", metrology::name(proof.verdict));
    if (!proof.runs.empty()) {
        out += fmt::format("\n{:<12} {:<7} {:>12} {:>10}  {}\n",
                           "gas",
                           "stream",
                           "CV " + proof.cv_unit,
                           "total",
                           "run");
        for (auto const& line : proof.runs) {
            out += fmt::format("{:<12} {:<7} {:>12} {:>10}  {}",
                               line.gas,
                               line.stream,
                               fixed(line.run.cv, 4),
                               line.run.total ? fixed(100 * *line.run.total, 3) : "-",
                               line.run.source);
            if (line.run.printed_cv_difference)
                out += fmt::format("  (recomputed CV {} % from the printed)",
                                   fixed(*line.run.printed_cv_difference, 4));
            out += "\n";
        }
    }
    return out + proof_evidence_text(proof.evidence);
}

}  // namespace gw::visit
