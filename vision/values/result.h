// SPDX-License-Identifier: GPL-3.0-or-later
// Result<T> is a T or an Error: what every function that can fail returns.
//
// It carries the member names of std::expected (absent from g++ 12), and adds
// two things: the compiler warns when a Result is dropped, and reading the
// value of a failure throws std::bad_variant_access rather than reading
// whatever bytes lie there.
#pragma once

#include "vision/values/error.h"

#include <concepts>
#include <functional>
#include <type_traits>
#include <utility>
#include <variant>

namespace edamori {

template <typename T>
class [[nodiscard]] Result {
 public:
  using value_type = T;

  template <typename U = T>
    requires(std::convertible_to<U &&, T> && !std::same_as<std::remove_cvref_t<U>, Error> &&
             !std::same_as<std::remove_cvref_t<U>, Result>)
  Result(U&& value)  // NOLINT(google-explicit-constructor): lets functions return a T.
      : m_state(std::in_place_index<0>, std::forward<U>(value)) {}
  Result(Error error)  // NOLINT(google-explicit-constructor): lets functions return an Error.
      : m_state(std::in_place_index<1>, std::move(error)) {}

  [[nodiscard]] bool has_value() const noexcept { return m_state.index() == 0; }
  explicit operator bool() const noexcept { return has_value(); }

  [[nodiscard]] const T& value() const& { return std::get<0>(m_state); }
  [[nodiscard]] T& value() & { return std::get<0>(m_state); }
  [[nodiscard]] T&& value() && { return std::get<0>(std::move(m_state)); }
  const T& operator*() const& { return value(); }
  T& operator*() & { return value(); }
  // By value, so that a loop over `*makeList()` keeps what it runs over.
  T operator*() && { return std::move(*this).value(); }
  const T* operator->() const { return &value(); }
  T* operator->() { return &value(); }

  [[nodiscard]] const Error& error() const& { return std::get<1>(m_state); }
  [[nodiscard]] Error&& error() && { return std::get<1>(std::move(m_state)); }

  // Calls `f` with the value and returns its Result; a failure passes through.
  template <typename F>
  auto and_then(F&& f) && -> std::invoke_result_t<F, T&&> {
    if (!has_value()) {
      return std::move(*this).error();
    }
    return std::invoke(std::forward<F>(f), std::move(*this).value());
  }

  // Like and_then, for an `f` that cannot fail.
  template <typename F>
  auto transform(F&& f) && -> Result<std::invoke_result_t<F, T&&>> {
    if (!has_value()) {
      return std::move(*this).error();
    }
    return std::invoke(std::forward<F>(f), std::move(*this).value());
  }

 private:
  std::variant<T, Error> m_state;
};

template <>
class [[nodiscard]] Result<void> {
 public:
  using value_type = void;

  Result() = default;
  Result(Error error)  // NOLINT(google-explicit-constructor): lets functions return an Error.
      : m_state(std::in_place_index<1>, std::move(error)) {}

  [[nodiscard]] bool has_value() const noexcept { return m_state.index() == 0; }
  explicit operator bool() const noexcept { return has_value(); }
  [[nodiscard]] const Error& error() const& { return std::get<1>(m_state); }
  [[nodiscard]] Error&& error() && { return std::get<1>(std::move(m_state)); }

 private:
  std::variant<std::monostate, Error> m_state;
};

[[nodiscard]] inline Error fail(ErrorCode code, std::string message) {
  return Error{.code = code, .message = std::move(message)};
}

}  // namespace edamori

#define EDAMORI_JOIN_AGAIN(a, b) a##b
#define EDAMORI_JOIN(a, b) EDAMORI_JOIN_AGAIN(a, b)

// Leaves the function with the error of `expression`, if it failed. The name
// carries the line, so that one use may stand inside another's lambda.
#define EDAMORI_RETURN_IF_ERROR(expression)                                               \
  do {                                                                                    \
    if (auto EDAMORI_JOIN(edamoriResult, __LINE__) = (expression);                        \
        !EDAMORI_JOIN(edamoriResult, __LINE__)) {                                         \
      return std::move(EDAMORI_JOIN(edamoriResult, __LINE__)).error();                    \
    }                                                                                     \
  } while (false)
