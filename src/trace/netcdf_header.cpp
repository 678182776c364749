#include "trace/netcdf_header.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <limits>

namespace gw::trace {

namespace {

constexpr std::uint32_t tag_dimensions = 0x0A, tag_variables = 0x0B, tag_attributes = 0x0C;
constexpr std::uint32_t streaming = 0xFFFFFFFF;
constexpr std::size_t longest_name = 256;
constexpr std::size_t most_dimensions = 8;

struct NcDimension {
    std::string name;
    std::uint32_t length{};  // 0: the record dimension
};

std::uint64_t big_endian(std::string_view bytes) {
    std::uint64_t value = 0;
    for (char const c : bytes) value = value << 8U | static_cast<unsigned char>(c);
    return value;
}

double number_at(std::string_view bytes, NcType type) {
    auto const raw = big_endian(bytes);
    switch (type) {
        case NcType::byte:
        case NcType::character:
            return static_cast<double>(static_cast<std::int8_t>(raw));
        case NcType::short_integer:
            return static_cast<double>(static_cast<std::int16_t>(raw));
        case NcType::integer:
            return static_cast<double>(static_cast<std::int32_t>(raw));
        case NcType::real:
            return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
        case NcType::double_real:
            return std::bit_cast<double>(raw);
    }
    return 0;
}

std::string trimmed(std::string text) {
    auto const end = text.find('\0');
    if (end != std::string::npos) text.resize(end);
    while (!text.empty() && static_cast<unsigned char>(text.back()) <= ' ') text.pop_back();
    return text;
}

// Reads on; every step first asks whether the file is long enough.
class Reader {
  public:
    Reader(std::string_view bytes, std::string const& source) : bytes_(bytes), source_(source) {}

    [[nodiscard]] std::size_t left() const { return bytes_.size() - at_; }
    [[nodiscard]] tl::unexpected<Error> refuse(std::string what) const {
        return fail(Errc::bad_input,
                    std::move(what),
                    fmt::format("{}: byte {}", source_, at_),
                    "export the run again; the file is damaged or cut short");
    }
    Result<std::string_view> take(std::size_t count) {
        if (count > left()) return refuse("The netCDF header ends too early.");
        auto const out = bytes_.substr(at_, count);
        at_ += count;
        return out;
    }
    Result<std::uint32_t> word() {
        GW_TRY(auto const raw, take(4));
        return static_cast<std::uint32_t>(big_endian(raw));
    }
    Result<std::uint64_t> long_word() {
        GW_TRY(auto const raw, take(8));
        return big_endian(raw);
    }
    Result<std::string_view> padded(std::size_t count) {
        GW_TRY(auto const out, take(count));
        GW_CHECK(skip((4 - count % 4) % 4));
        return out;
    }
    Result<> skip(std::size_t count) {
        // The padding of the very last item may be missing.
        at_ += std::min(count, left());
        return {};
    }
    Result<std::string> name() {
        GW_TRY(auto const length, word());
        if (length > longest_name) return refuse("A name in the netCDF header is too long.");
        GW_TRY(auto const text, padded(length));
        return std::string(text);
    }
    // The number of items of a list, each of which takes at least `least` bytes.
    Result<std::uint32_t> list(std::uint32_t tag, std::size_t least) {
        GW_TRY(auto const found, word());
        GW_TRY(auto const count, word());
        if (found == 0 && count == 0) return 0U;
        if (found != tag) return refuse("The netCDF header is not in the order of the format.");
        if (count > left() / least)
            return refuse("The netCDF header promises more than the file holds.");
        return count;
    }
    Result<NcType> type() {
        GW_TRY(auto const found, word());
        if (found < 1 || found > 6)
            return refuse(fmt::format(
                "The netCDF file holds values of a kind ({}) that the classic format has not.",
                found));
        return static_cast<NcType>(found);
    }

  private:
    std::string_view bytes_;
    std::string const& source_;
    std::size_t at_ = 0;
};

Result<std::vector<NcAttribute>> read_attributes(Reader& in) {
    std::vector<NcAttribute> out;
    GW_TRY(auto const count, in.list(tag_attributes, 12));
    for (std::uint32_t i = 0; i < count; ++i) {
        NcAttribute attribute;
        GW_TRY(attribute.name, in.name());
        GW_TRY(auto const type, in.type());
        GW_TRY(auto const values, in.word());
        if (values > in.left() / size_of(type))
            return in.refuse("An attribute in the netCDF header is longer than the file.");
        GW_TRY(auto const raw, in.padded(values * size_of(type)));
        if (type == NcType::character)
            attribute.text = trimmed(std::string(raw));
        else
            for (std::uint32_t k = 0; k < values; ++k)
                attribute.numbers.push_back(
                    number_at(raw.substr(k * size_of(type), size_of(type)), type));
        out.push_back(std::move(attribute));
    }
    return out;
}

}  // namespace

std::size_t size_of(NcType type) {
    switch (type) {
        case NcType::byte:
        case NcType::character:
            return 1;
        case NcType::short_integer:
            return 2;
        case NcType::integer:
        case NcType::real:
            return 4;
        case NcType::double_real:
            return 8;
    }
    return 1;
}

NcAttribute const* NcHeader::attribute(std::string_view name) const {
    auto const at = std::find_if(
        attributes.begin(), attributes.end(), [&](auto const& a) { return a.name == name; });
    return at == attributes.end() ? nullptr : &*at;
}

NcVariable const* NcHeader::variable(std::string_view name) const {
    auto const at = std::find_if(
        variables.begin(), variables.end(), [&](auto const& v) { return v.name == name; });
    return at == variables.end() ? nullptr : &*at;
}

Result<NcHeader> read_nc_header(std::string_view bytes, std::string const& source) {
    Reader in(bytes, source);
    GW_TRY(auto const magic, in.take(4));
    if (magic.substr(0, 3) != "CDF" || (magic[3] != 1 && magic[3] != 2))
        return fail(Errc::bad_input,
                    "This is no classic netCDF file (CDF-1 or CDF-2).",
                    source,
                    "export it as classic netCDF or as text");
    bool const wide = magic[3] == 2;
    GW_TRY(std::uint64_t records, in.word());
    std::vector<NcDimension> dimensions;
    GW_TRY(auto const dimension_count, in.list(tag_dimensions, 8));
    for (std::uint32_t i = 0; i < dimension_count; ++i) {
        NcDimension dimension;
        GW_TRY(dimension.name, in.name());
        GW_TRY(dimension.length, in.word());
        dimensions.push_back(std::move(dimension));
    }
    NcHeader out;
    GW_TRY(out.attributes, read_attributes(in));
    GW_TRY(auto const variable_count, in.list(tag_variables, 28));
    std::uint64_t record_bytes = 0, first_record = bytes.size();
    std::size_t record_variables = 0;
    for (std::uint32_t i = 0; i < variable_count; ++i) {
        NcVariable v;
        GW_TRY(v.name, in.name());
        GW_TRY(auto const rank, in.word());
        if (rank > most_dimensions)
            return in.refuse(fmt::format("The variable \"{}\" has too many dimensions.", v.name));
        v.per_record = 1;
        for (std::uint32_t k = 0; k < rank; ++k) {
            GW_TRY(auto const id, in.word());
            if (id >= dimensions.size())
                return in.refuse(fmt::format(
                    "The variable \"{}\" names a dimension that is not there.", v.name));
            v.dimensions.push_back(id);
            if (dimensions[id].length == 0) {
                if (k > 0)
                    return in.refuse(
                        fmt::format("In \"{}\" the record dimension is not the first.", v.name));
                v.record = true;
                continue;
            }
            if (v.per_record > bytes.size() / dimensions[id].length)
                return in.refuse(
                    fmt::format("The variable \"{}\" is larger than the file.", v.name));
            v.per_record *= dimensions[id].length;
        }
        GW_TRY(v.attributes, read_attributes(in));
        GW_TRY(v.type, in.type());
        GW_TRY(auto const stated_size, in.word());
        (void)stated_size;  // follows from the dimensions, and overflows for large variables
        if (wide) {
            GW_TRY(v.begin, in.long_word());
        } else {
            GW_TRY(v.begin, in.word());
        }
        if (v.record) {
            ++record_variables;
            record_bytes += (v.per_record * size_of(v.type) + 3) / 4 * 4;
            first_record = std::min(first_record, v.begin);
        }
        out.variables.push_back(std::move(v));
    }
    for (auto& v : out.variables) {
        if (!v.record) {
            v.count = v.per_record;
            continue;
        }
        // A single record variable is not padded.
        v.stride = record_variables == 1 ? v.per_record * size_of(v.type) : record_bytes;
        if (records == streaming)
            records = v.stride == 0 ? 0 : (bytes.size() - first_record) / v.stride;
        if (v.stride == 0 || v.per_record == 0 || records > bytes.size() / v.stride + 1)
            return in.refuse(fmt::format(
                "The netCDF file promises {} records and is too short for them.", records));
        v.count = records * v.per_record;
    }
    return out;
}

Result<std::vector<double>> nc_values(std::string_view bytes,
                                      NcVariable const& v,
                                      std::string const& source) {
    std::size_t const size = size_of(v.type);
    auto const cut = [&] {
        return fail(Errc::bad_input,
                    fmt::format("The file ends before the {} values of \"{}\".", v.count, v.name),
                    source,
                    "export the run again; the file is damaged or cut short");
    };
    std::uint64_t const records = v.record ? v.count / std::max<std::uint64_t>(1, v.per_record) : 1;
    if (v.count > bytes.size() / size || v.begin > bytes.size()) return cut();
    std::uint64_t const last =
        v.begin + (records == 0 ? 0 : (records - 1) * v.stride) + v.per_record * size;
    if (v.count > 0 && last > bytes.size()) return cut();
    std::vector<double> out;
    out.reserve(v.count);
    for (std::uint64_t r = 0; r < records; ++r)
        for (std::uint64_t k = 0; k < v.per_record; ++k)
            out.push_back(number_at(bytes.substr(v.begin + r * v.stride + k * size, size), v.type));
    return out;
}

}  // namespace gw::trace
