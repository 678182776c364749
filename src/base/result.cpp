#include "base/result.hpp"

namespace gw {

std::string one_line(Error const& error) {
    std::string line;
    if (!error.where.empty()) line += error.where + ": ";
    line += error.what;
    if (!error.mend.empty()) {
        while (!line.empty() && line.back() == '.') line.pop_back();
        line += "; " + error.mend;
    }
    for (char& c : line)  // a hostile name must not forge a second line, nor speak to the terminal
        if (auto const byte = static_cast<unsigned char>(c); byte < 0x20 || byte == 0x7F) c = ' ';
    return line;
}

int exit_code(Errc code) {
    switch (code) {
        case Errc::bad_input:
        case Errc::out_of_range:
        case Errc::not_found:
        case Errc::conflict:
            return 2;
        case Errc::busy:
        case Errc::io:
            return 3;
    }
    return 3;
}

}  // namespace gw
