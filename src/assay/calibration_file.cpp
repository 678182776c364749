#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/calibration.hpp"

namespace gw::assay {

namespace {

Json matrix_json(SquareMatrix const& V) {
    Json rows = Json::array();
    for (std::size_t i = 0; i < V.size(); ++i) {
        Json row = Json::array();
        for (std::size_t j = 0; j < V.size(); ++j) row.push_back(V(i, j));
        rows.push_back(std::move(row));
    }
    return rows;
}

Json split_json(gas::Characterisation const& split) {
    Json parts = Json::object();
    for (auto const& [component, share] : split.parts)
        parts[std::string(gas::name(component))] = share;
    return Json{{std::string(gas::name(gas::c6_plus)), std::move(parts)}};
}

Result<SquareMatrix> read_matrix(Field const& field, std::size_t size) {
    GW_TRY(auto const rows, field.items());
    if (rows.size() != size)
        return field.wrong(
            fmt::format("{} rows are needed, one per factor; there are {}.", size, rows.size()),
            "write the file anew with assay calibrate");
    SquareMatrix V(size);
    for (std::size_t i = 0; i < size; ++i) {
        GW_TRY(auto const cells, rows[i].items());
        if (cells.size() != size)
            return rows[i].wrong(fmt::format("{} numbers are needed.", size),
                                 "write the file anew with assay calibrate");
        for (std::size_t j = 0; j < size; ++j) {
            GW_TRY(V(i, j), cells[j].number());
        }
    }
    if (!is_covariance(V))
        return field.wrong("This matrix is no covariance.",
                           "write the file anew with assay calibrate");
    return V;
}

}  // namespace

Json calibration_json(Calibration const& calibration) {
    Json out{{"schema", "gaswright.calibration/1"}};
    out["cylinder"] = calibration.cylinder;
    out["time"] = calibration.time ? Json(to_text(*calibration.time)) : Json(nullptr);
    out["method_hash"] = calibration.method_hash;
    out["cylinder_hash"] = calibration.cylinder_hash;
    out["runs_used"] = calibration.runs_used;
    Json rejected = Json::array();
    for (auto const& r : calibration.runs_rejected)
        rejected.push_back(Json{{"run", r.source}, {"reason", r.reason}});
    out["runs_rejected"] = rejected;
    Json components = Json::object(), order = Json::array();
    for (auto const& f : calibration.factors) {
        order.push_back(std::string(gas::name(f.component)));
        Json entry{{"factor", f.value},
                   {"u", f.u},
                   {"unit", "area per mol/mol"},
                   {"repeatability", f.repeatability},
                   {"retention_s", f.retention_s},
                   {"detector", f.detector},
                   {"runs_used", calibration.runs_used},
                   {"runs_rejected", rejected}};
        if (f.borrowed) entry["borrowed"] = true;
        components[std::string(gas::name(f.component))] = std::move(entry);
    }
    out["components"] = std::move(components);
    out["component_order"] = std::move(order);
    out["relative_covariance"] = matrix_json(calibration.relative_covariance);
    out["run_covariance"] = matrix_json(calibration.run_covariance);
    if (!calibration.characterisation.parts.empty())
        out["characterisation"] = split_json(calibration.characterisation);
    if (!calibration.heavy_end.parts.empty())
        out["calibration_gas_heavy_end"] = split_json(calibration.heavy_end);
    out["warnings"] = calibration.warnings;
    return out;
}

Result<Calibration> read_calibration(Field const& root) {
    GW_CHECK(require_schema(root, "calibration"));
    Calibration out;
    GW_TRY(out.cylinder, root.text_or("cylinder", ""));
    if (auto const time = root.find("time")) {
        GW_TRY(auto const text, time->text());
        GW_TRY(out.time, parse_instant(text, time->where()));
    }
    GW_TRY(out.method_hash, root.text_or("method_hash", ""));
    GW_TRY(out.cylinder_hash, root.text_or("cylinder_hash", ""));
    GW_TRY(auto const components, root.at("components"));
    GW_TRY(auto const members, components.members());
    if (members.empty())
        return components.wrong("The calibration holds no factor.",
                                "write it with assay calibrate");
    for (auto const& [name, entry] : members) {
        Factor f;
        GW_TRY(f.component, gas::require_component(name, entry.where()));
        if (out.find(f.component) != nullptr)
            return entry.wrong(fmt::format("{} stands twice.", gas::name(f.component)), "keep one");
        GW_TRY(f.value, entry.number("factor"));
        if (!(f.value > 0)) return entry.wrong("A factor must be positive.", "correct it");
        GW_TRY(f.u, entry.number_or("u", 0));
        if (f.u < 0) return entry.wrong("An uncertainty cannot be negative.", "correct it");
        GW_TRY(f.repeatability, entry.number_or("repeatability", 0));
        GW_TRY(f.retention_s, entry.number_or("retention_s", 0));
        GW_TRY(double const detector, entry.number_or("detector", 1));
        f.detector = static_cast<int>(detector);
        if (auto const borrowed = entry.find("borrowed")) {
            GW_TRY(f.borrowed, borrowed->boolean());
        }
        out.factors.push_back(f);
    }
    std::size_t const m = out.factors.size();
    out.relative_covariance = SquareMatrix(m);
    out.run_covariance = SquareMatrix(m);
    for (std::size_t i = 0; i < m; ++i) {  // what stands for itself when the file carries no matrix
        out.relative_covariance(i, i) = std::pow(out.factors[i].u / out.factors[i].value, 2);
        out.run_covariance(i, i) = std::pow(out.factors[i].repeatability, 2);
    }
    if (auto const order = root.find("component_order")) {
        GW_TRY(auto const names, order->items());
        bool same = names.size() == m;
        for (std::size_t i = 0; same && i < m; ++i) {
            GW_TRY(auto const text, names[i].text());
            GW_TRY(auto const component, gas::require_component(text, names[i].where()));
            same = component == out.factors[i].component;
        }
        if (!same)
            return order->wrong("The order must name the components as they stand in the file.",
                                "write the file anew with assay calibrate");
        if (auto const V = root.find("relative_covariance")) {
            GW_TRY(out.relative_covariance, read_matrix(*V, m));
        }
        if (auto const V = root.find("run_covariance")) {
            GW_TRY(out.run_covariance, read_matrix(*V, m));
        }
    }
    if (auto const runs = root.find("runs_used")) {
        GW_TRY(auto const items, runs->items());
        for (auto const& item : items) {
            GW_TRY(auto const text, item.text());
            out.runs_used.push_back(text);
        }
    }
    if (auto const rejected = root.find("runs_rejected")) {
        GW_TRY(auto const items, rejected->items());
        for (auto const& item : items) {
            RejectedRun run;
            GW_TRY(run.source, item.text("run"));
            GW_TRY(run.reason, item.text_or("reason", ""));
            out.runs_rejected.push_back(run);
        }
    }
    if (auto const split = root.find("characterisation")) {
        GW_TRY(out.characterisation, gas::read_characterisation(*split));
        out.characterisation.origin = "calibration";
    }
    if (auto const split = root.find("calibration_gas_heavy_end")) {
        GW_TRY(out.heavy_end, gas::read_characterisation(*split));
    }
    return out;
}

}  // namespace gw::assay
