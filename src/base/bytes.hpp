#pragma once
/// Numbers and texts of binary files, low byte first whatever the machine, each read within bounds.
#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>

namespace gw {

class ByteWriter {
  public:
    template <class Unsigned>
    void put(Unsigned value) {
        for (std::size_t i = 0; i < sizeof(Unsigned); ++i)
            bytes_.push_back(static_cast<char>((value >> (8 * i)) & 0xFFU));
    }
    void real(double value) { put(std::bit_cast<std::uint64_t>(value)); }
    void text(std::string_view value) {
        put(static_cast<std::uint32_t>(value.size()));
        bytes_.append(value);
    }
    void raw(std::string_view value) { bytes_.append(value); }
    [[nodiscard]] std::string const& bytes() const { return bytes_; }

  private:
    std::string bytes_;
};

/// After the first read beyond the end everything reads as zero or empty, and `good` stays false.
class ByteReader {
  public:
    explicit ByteReader(std::string_view bytes) : bytes_(bytes) {}

    template <class Unsigned>
    Unsigned get() {
        auto const part = raw(sizeof(Unsigned));
        Unsigned value = 0;
        for (std::size_t i = 0; i < part.size(); ++i)
            value = static_cast<Unsigned>(
                value | static_cast<Unsigned>(
                            static_cast<Unsigned>(static_cast<unsigned char>(part[i])) << (8 * i)));
        return value;
    }
    double real() { return std::bit_cast<double>(get<std::uint64_t>()); }
    std::string_view text(std::size_t most) {
        auto const size = get<std::uint32_t>();
        if (size > most) good_ = false;
        return raw(size);
    }
    std::string_view raw(std::size_t size) {
        if (!good_ || size > bytes_.size()) {
            good_ = false;
            return {};
        }
        auto const part = bytes_.substr(0, size);
        bytes_.remove_prefix(size);
        return part;
    }
    [[nodiscard]] bool good() const { return good_; }
    [[nodiscard]] std::size_t left() const { return bytes_.size(); }

  private:
    std::string_view bytes_;
    bool good_ = true;
};

}  // namespace gw
