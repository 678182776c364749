#pragma once
/// The workshop sums under one form: what goes in (with unit and uncertainty), the formula and its
/// source, what comes out (with standard uncertainty and interval). The sums themselves are free
/// functions in headers of their own: leak.hpp, purge.hpp, lag.hpp, endurance.hpp,
/// condensation.hpp, outage.hpp, shelter.hpp, spares.hpp.
#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/json.hpp"
#include "bench/units.hpp"
#include "gas/composition.hpp"
#include "metrology/finding.hpp"

namespace gw::bench {

struct SumField {
    enum class Form { quantity, gas, list };
    std::string_view key;  ///< of the file; the option is --KEY with hyphens
    std::string_view help;
    Dimension dimension = Dimension::number;
    std::string_view unit = "1";  ///< where none is written
    bool required = false;
    Form form = Form::quantity;
    std::span<SumField const> entries = {};  ///< of a list, which only a file can give
};

struct SumInputs {
    std::string name;                                            ///< of an entry of a list
    std::map<std::string, WrittenQuantity, std::less<>> values;  ///< SI, absolute
    std::map<std::string, std::pair<std::string, gas::Composition>, std::less<>> gases;
    std::map<std::string, std::vector<SumInputs>, std::less<>> lists;
    std::vector<std::string> warnings;

    [[nodiscard]] bool has(std::string_view key) const { return values.find(key) != values.end(); }
    /// The value, or `otherwise` exactly.
    [[nodiscard]] Measured of(std::string_view key, double otherwise = 0) const;
    [[nodiscard]] std::optional<Measured> optional(std::string_view key) const;
};

struct SumResult {
    std::string key, title;
    Measured si;
    Dimension dimension = Dimension::number;
    std::string unit = "1";
    bool exact = false;  ///< a count or a level chosen: no uncertainty is shown
};

struct Sum {
    std::vector<SumResult> results;
    std::vector<metrology::Finding> findings;  ///< where a limit is given
    std::vector<std::string> warnings;

    void add(
        std::string key, std::string title, Measured si, Dimension dimension, std::string unit);
    /// judged as `value` against [low, high], all in `unit`, guarded with k = 2.
    void judge(std::string id,
               std::string title,
               std::optional<Measured> value,
               std::string unit,
               std::optional<double> low,
               std::optional<double> high,
               std::string source,
               std::string note = {});
};

struct SumKind {
    std::string_view name, title, formula, source, example, caution;
    std::span<SumField const> fields;
    Result<Sum> (*work)(SumInputs const&);
};
std::span<SumKind const> sum_kinds();
SumKind const* find_sum(std::string_view name);

/// A composition by the name that was written and the place it stood; the file system is not known
/// here.
using GasLoader =
    std::function<Result<gas::Composition>(std::string const& name, std::string const& where)>;

/// The inputs of a file (none: only options), then of options, which go first. A quantity is a
/// number in the usual unit, a text as units.hpp reads it, or {"value", "u", "unit"}; a gas the
/// name of a component, the name of a composition file, or a composition. Refuses keys that the sum
/// does not know, and a required one that is missing. Gauge pressures need `ambient`; without it
/// 101.325 kPa is taken, with a warning.
Result<SumInputs> read_sum_inputs(SumKind const& kind,
                                  std::optional<Field> const& file,
                                  std::vector<std::pair<std::string, std::string>> const& options,
                                  GasLoader const& load_gas);

/// The sum's work; figures that come out beyond what a number holds are refused.
Result<Sum> worked(SumKind const& kind, SumInputs const& in);

/// {"sum", "formula", "source", "inputs", "results": {KEY: {"value", "u", "unit", "low", "high"}},
/// "findings", "verdict", "caution", "warnings"}; low, high: k = 2. `show`: key to unit.
using Show = std::map<std::string, std::string, std::less<>>;
Result<Json> sum_json(SumKind const& kind, SumInputs const& in, Sum const& sum, Show const& show);
Result<std::string> sum_text(SumKind const& kind,
                             SumInputs const& in,
                             Sum const& sum,
                             Show const& show);
/// True without findings and when all of them meet.
bool favourable(Sum const& sum);

}  // namespace gw::bench
