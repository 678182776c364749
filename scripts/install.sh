# install_packages [all]: what scripts/packages.txt names and the machine lacks, by apt-get.
# Silent when nothing is missing.
# shellcheck shell=bash

listed_packages() {  # $1: "all" to read on past the line [all]
    local line
    while read -r line; do
        if [[ $line == "[all]" ]]; then
            [[ ${1:-} == all ]] || return 0
            continue
        fi
        line=${line%%#*}
        local words
        read -ra words <<<"$line"
        [[ ${#words[@]} -gt 0 ]] || continue
        [[ ${words[1]:-} != unless ]] || ! command -v "${words[2]}" >/dev/null || continue
        printf '%s\n' "${words[0]}"
    done < "$root/scripts/packages.txt"
}

missing_packages() {
    local package
    for package in $(listed_packages "${1:-}"); do
        [[ $(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null) == installed ]] ||
            printf '%s\n' "$package"
    done
}

install_packages() {
    if ! command -v dpkg-query >/dev/null; then
        say "this is not a Debian machine: the packages of scripts/packages.txt are taken as present"
        return 0
    fi
    local missing sudo=()
    mapfile -t missing < <(missing_packages "${1:-}")
    [[ ${#missing[@]} -gt 0 ]] || return 0
    if [[ $(id -u) -ne 0 ]]; then
        command -v sudo >/dev/null ||
            die "cannot install ${missing[*]}: neither root nor sudo; have an administrator apt-get install them"
        sudo=(sudo)
    fi
    say "installing ${missing[*]}"
    # --no-remove: never pay for a package with another that the machine's owner wanted.
    local options=(-y -qq -o Acquire::Retries=3 -o DPkg::Lock::Timeout=300) log
    log=$(mktemp)
    if ! {
        "${sudo[@]}" apt-get "${options[@]}" update &&
            "${sudo[@]}" env DEBIAN_FRONTEND=noninteractive \
                apt-get "${options[@]}" install --no-install-recommends --no-remove "${missing[@]}"
    } >"$log" 2>&1 </dev/null; then
        tail -n 20 "$log" >&2
        rm -f "$log"
        die "apt-get could not install ${missing[*]}: see above"
    fi
    rm -f "$log"
}
