#pragma once
/// Classic netCDF as it lies in the file: dimensions, attributes, variables. Bounded: no count is
/// believed that the file is too short for.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace gw::trace {

enum class NcType : std::uint32_t {
    byte = 1,
    character,
    short_integer,
    integer,
    real,
    double_real
};

/// Bytes of one value.
std::size_t size_of(NcType type);

struct NcAttribute {
    std::string name;
    std::string text;             ///< of a character attribute, padding taken off
    std::vector<double> numbers;  ///< of any other
};

struct NcVariable {
    std::string name;
    std::vector<std::size_t> dimensions;  ///< their numbers
    std::vector<NcAttribute> attributes;
    NcType type{};
    std::uint64_t begin{};
    bool record{};          ///< its first dimension is the record dimension
    std::uint64_t count{};  ///< values in all
    std::uint64_t
        stride{};  ///< bytes from one record to the next; 0 for a variable without records
    std::uint64_t per_record{};
};

struct NcHeader {
    std::vector<NcAttribute> attributes;
    std::vector<NcVariable> variables;

    [[nodiscard]] NcAttribute const* attribute(std::string_view name) const;
    [[nodiscard]] NcVariable const* variable(std::string_view name) const;
};

Result<NcHeader> read_nc_header(std::string_view bytes, std::string const& source);

/// All values of a variable as numbers. Fails when the file ends before them.
Result<std::vector<double>> nc_values(std::string_view bytes,
                                      NcVariable const& variable,
                                      std::string const& source);

}  // namespace gw::trace
