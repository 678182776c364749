#pragma once
/// Bodies that are too long to hold in memory: each in a file without a name, beside the record,
/// and mapped while somebody reads it. No name, so that nothing of it is left whatever happens: the
/// system takes it back when the last who has it open is gone, also after a kill.
#include <cstddef>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace gw::serve {

/// A file without a name; closed, and with that gone, at the end.
class NamelessFile {
  public:
    NamelessFile() = default;
    explicit NamelessFile(int descriptor) : descriptor_(descriptor) {}
    NamelessFile(NamelessFile&& other) noexcept;
    NamelessFile& operator=(NamelessFile&& other) noexcept;
    NamelessFile(NamelessFile const&) = delete;
    NamelessFile& operator=(NamelessFile const&) = delete;
    ~NamelessFile();

    [[nodiscard]] int descriptor() const { return descriptor_; }
    [[nodiscard]] int released();  ///< somebody else closes it

  private:
    int descriptor_ = -1;
};

/// In `folder`, or in the nearest folder above it that is there; readable by this user alone (mode
/// 0600). Fails with io.
Result<NamelessFile> nameless_file(std::string const& folder);

/// The whole of a file, mapped read-only.
class Mapped {
  public:
    /// Takes the file over. Fails with io.
    static Result<std::shared_ptr<Mapped const>> of(NamelessFile file);
    Mapped(Mapped const&) = delete;
    Mapped& operator=(Mapped const&) = delete;
    ~Mapped();

    [[nodiscard]] std::string_view bytes() const { return bytes_; }
    /// What lies before is not looked at for now: its memory goes back to the system, and comes
    /// again by itself if it is looked at after all.
    void let_go(std::size_t before) const;

  private:
    Mapped(NamelessFile file, std::string_view bytes) : file_(std::move(file)), bytes_(bytes) {}
    NamelessFile file_;
    std::string_view bytes_;
};

}  // namespace gw::serve
