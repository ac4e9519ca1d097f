#include "kerfwright/files.hpp"

#include <fcntl.h>
#include <openssl/evp.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fstream>

#include "kerfwright/error.hpp"

namespace kerfwright {
namespace {

std::string reason() { return std::strerror(errno); }

void write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) throw UserError(Fault::cannot_write, reason());
    text.remove_prefix(static_cast<std::size_t>(written));
  }
}

}  // namespace

std::string read_file(const std::string& path) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0) {
    throw UserError(Fault::no_file, "Cannot read '" + path + "': " + reason() + ".");
  }
  if (!S_ISREG(status.st_mode)) {
    throw UserError(Fault::no_file, "Cannot read '" + path + "': it is not a plain file.");
  }
  std::ifstream stream(path, std::ios::binary);
  std::string text;
  text.resize(static_cast<std::size_t>(status.st_size));
  if (!stream || !stream.read(text.data(), static_cast<std::streamsize>(text.size()))) {
    throw UserError(Fault::no_file, "Cannot read '" + path + "': " + reason() + ".");
  }
  if (text.empty()) {
    throw UserError(Fault::empty_file, "The file '" + path + "' is empty.");
  }
  return text;
}

void write_file(const std::string& path, std::string_view text) {
  const std::string temporary = path + ".part-" + std::to_string(::getpid());
  const int descriptor = ::open(temporary.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
  if (descriptor < 0) {
    throw UserError(Fault::cannot_write, "Cannot write '" + path + "': " + reason() + ".");
  }
  try {
    write_all(descriptor, text);
    if (::fsync(descriptor) != 0) throw UserError(Fault::cannot_write, reason());
  } catch (const UserError& error) {
    ::close(descriptor);
    ::unlink(temporary.c_str());
    throw UserError(Fault::cannot_write, "Cannot write '" + path + "': " + error.what() + ".");
  }
  if (::close(descriptor) != 0 || std::rename(temporary.c_str(), path.c_str()) != 0) {
    const std::string why = reason();
    ::unlink(temporary.c_str());
    throw UserError(Fault::cannot_write, "Cannot write '" + path + "': " + why + ".");
  }
}

std::string sha256_hex(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int size = 0;
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), &size, EVP_sha256(), nullptr) != 1) {
    throw UserError(Fault::internal, "The SHA-256 of the library failed.");
  }
  std::string hex;
  for (unsigned int i = 0; i < size; ++i) {
    constexpr const char* digits = "0123456789abcdef";
    hex += digits[digest[i] >> 4];
    hex += digits[digest[i] & 15];
  }
  return hex;
}

}  // namespace kerfwright
