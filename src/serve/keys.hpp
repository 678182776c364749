#pragma once
/// The key files of the people who sign on this machine: in a folder beside the record, each opened
/// by its passphrase for one signature and forgotten again.
#include <string>
#include <vector>

#include "desk/key.hpp"

namespace gw::serve {

struct KeptKey {
    std::string path;
    desk::KeyFile file;
};

class KeyFolder {
  public:
    explicit KeyFolder(std::string folder) : folder_(std::move(folder)) {}

    /// By name of the person; a file that is no key is passed over. An absent folder holds none.
    [[nodiscard]] std::vector<KeptKey> keys() const;
    /// Makes a key in a new file. Refuses an empty name and a passphrase of fewer than 8 letters:
    /// this folder is where somebody would look first.
    Result<KeptKey> make(std::string const& name,
                         desk::Secret const& passphrase,
                         Instant now,
                         desk::Cost cost = desk::Cost::usual);
    /// The key of that fingerprint, opened.
    [[nodiscard]] Result<desk::SigningKey> opened(std::string const& fingerprint,
                                                  desk::Secret const& passphrase) const;

  private:
    std::string folder_;
};

}  // namespace gw::serve
